"""Sheets of orders, and of what owners were asked and allowed."""

from __future__ import annotations

from recondition.intake.spec import (
    DOCUMENT_REFS,
    PRIVATE_NOTE,
    ROW_REF,
    Sheet,
    amount,
    choice,
    day,
    money,
    own_ref,
    refs,
    to,
    vehicle,
    words,
)
from recondition.ledger.approvals import Answer, How
from recondition.ledger.lines import Origin
from recondition.ledger.orders import Ordered

COLDEST = -60  # degrees, in either scale

WINDOW = (
    amount(
        "window.surface_low",
        "surface at least",
        "lowest surface temperature that the decal's sheet allows",
        unit="C",
        example="10 C",
        at_least=COLDEST,
    ),
    amount(
        "window.surface_high",
        "surface at most",
        "highest surface temperature that the decal's sheet allows",
        unit="C",
        example="35 C",
        at_least=COLDEST,
    ),
    amount(
        "window.dry_for",
        "dry for",
        "how long it stays dry before water may reach it",
        unit="h",
        example="24 h",
    ),
)

_CANDIDATES = refs(
    "candidates",
    "candidate work",
    "candidate",
    "refs of exactly the work it is about",
    required=True,
    example="C-001; C-002",
)
ORDERS = Sheet(
    name="orders",
    kind="order",
    explanation="Parts and sublet work from the quote to the day they are here. A changed row is "
    "a new version: ordered, received, sent back. The line that it leads to names it.",
    ref_prefix="OR-",
    columns=(
        own_ref("ref", ROW_REF, example="OR-001"),
        vehicle(),
        choice("what", "what", tuple(Ordered), "a part, or work sent out", required=True),
        words("name", "name", "which part or work", required=True),
        amount(
            "quantity",
            "quantity",
            "how many; a number is pieces, empty means 1",
            unit="piece",
            default="1",
        ),
        money("quoted", "quoted", "for the whole of it, without tax that comes back"),
        day("quoted_on", "quoted on", "day of the quote"),
        day("ordered_on", "ordered on", "day it was ordered, or left the shop"),
        day("promised_on", "promised on", "day it was promised for"),
        day("received_on", "received on", "day it came, or was back"),
        day("returned_on", "returned on", "day it went back unused"),
        to("supplier", "supplier", "supplier", "ref from the sheet suppliers"),
        choice("origin", "origin", tuple(Origin), "what the part is"),
        words("replaces_part", "replaces part", "which part of the vehicle it takes the place of"),
        to("candidate", "candidate", "candidate", "ref of the candidate work it is for"),
        *WINDOW,
        DOCUMENT_REFS,
        PRIVATE_NOTE,
    ),
)

REQUESTS = Sheet(
    name="change requests",
    kind="change request",
    explanation="Work found on the way that an owner is asked about before it is done.",
    ref_prefix="CR-",
    columns=(
        own_ref("ref", ROW_REF, example="CR-001"),
        vehicle(),
        day("asked_on", "asked on", "day the owner was asked", required=True),
        _CANDIDATES,
        money("amount", "amount", "what would be billed for it", required=True),
        words("words", "words", "what was found and why it is asked", required=True),
        money("limit", "limit asked for", "what might then be billed in all"),
        DOCUMENT_REFS,
    ),
)

APPROVALS = Sheet(
    name="approvals",
    kind="approval",
    explanation="What an owner allowed or declined: exactly which work, for how much, who said "
    "so and how, and the limit that may not be passed.",
    ref_prefix="AP-",
    columns=(
        own_ref("ref", ROW_REF, example="AP-001"),
        vehicle(),
        day("answered_on", "answered on", "day of the answer", required=True),
        _CANDIDATES,
        choice("answer", "answer", tuple(Answer), "empty: approved", default=Answer.APPROVED),
        money("amount", "amount", "what was approved for that work", required=True),
        choice("how", "how", tuple(How), "how the answer was given", required=True),
        to("by", "by", "person", "who answered, from the sheet people", required=True),
        money("limit", "limit", "what may be billed for the vehicle in all, not to be exceeded"),
        to("request", "answers", "change request", "change request it answers"),
        words("words", "words", "the owner's own words; private"),
        DOCUMENT_REFS,
    ),
)

OWNER_SHEETS = (ORDERS, REQUESTS, APPROVALS)
