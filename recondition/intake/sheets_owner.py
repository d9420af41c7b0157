"""Sheets of orders, and of what owners were asked and allowed."""

from __future__ import annotations

from recondition.intake.sheets_stock import DOCUMENTS, amount, day, money
from recondition.intake.spec import (
    PRIVATE_NOTE,
    ROW_REF,
    ColumnSpec,
    Parse,
    Sheet,
    own_ref,
    to,
    vehicle,
    words,
)
from recondition.ledger.approvals import Answer, How
from recondition.ledger.lines import Origin
from recondition.ledger.orders import Ordered

COLDEST = -60  # degrees, in either scale

WINDOW = (
    amount("window.surface_low", "surface at least", "lowest surface temperature that the "
           "decal's sheet allows", unit="C", example="10 C",
           at_least=COLDEST),
    amount("window.surface_high", "surface at most", "highest surface temperature that the "
           "decal's sheet allows", unit="C", example="35 C",
           at_least=COLDEST),
    amount("window.dry_for", "dry for", "how long it stays dry before water may reach it",
           unit="h", example="24 h"),
)  # fmt: skip

_CANDIDATES = ColumnSpec(
    field="candidates",
    heading="candidate work",
    parse=Parse.TO_MANY,
    target="candidate",
    required=True,
    help="refs of exactly the work it is about",
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
        ColumnSpec(
            field="what",
            heading="what",
            parse=Parse.CHOICE,
            choices=tuple(Ordered),
            required=True,
            help="a part, or work sent out",
        ),
        words("name", "name", "which part or work", required=True),
        ColumnSpec(
            field="quantity",
            heading="quantity",
            parse=Parse.QUANTITY,
            unit="piece",
            default="1",
            help="how many; a number is pieces, empty means 1",
        ),
        money("quoted", "quoted", "for the whole of it, without tax that comes back"),
        day("quoted_on", "quoted on", "day of the quote", required=False),
        day("ordered_on", "ordered on", "day it was ordered, or left the shop", required=False),
        day("promised_on", "promised on", "day it was promised for", required=False),
        day("received_on", "received on", "day it came, or was back", required=False),
        day("returned_on", "returned on", "day it went back unused", required=False),
        to("supplier", "supplier", "supplier", "ref from the sheet suppliers"),
        ColumnSpec(
            field="origin",
            heading="origin",
            parse=Parse.CHOICE,
            choices=tuple(Origin),
            help="what the part is",
        ),
        words("replaces_part", "replaces part", "which part of the vehicle it takes the place of"),
        to("candidate", "candidate", "candidate", "ref of the candidate work it is for"),
        *WINDOW,
        DOCUMENTS,
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
        day("asked_on", "asked on", "day the owner was asked"),
        _CANDIDATES,
        money("amount", "amount", "what would be billed for it", required=True),
        words("words", "words", "what was found and why it is asked", required=True),
        money("limit", "limit asked for", "what might then be billed in all"),
        DOCUMENTS,
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
        day("answered_on", "answered on", "day of the answer"),
        _CANDIDATES,
        ColumnSpec(
            field="answer",
            heading="answer",
            parse=Parse.CHOICE,
            choices=tuple(Answer),
            default=Answer.APPROVED,
            help="empty: approved",
        ),
        money("amount", "amount", "what was approved for that work", required=True),
        ColumnSpec(
            field="how",
            heading="how",
            parse=Parse.CHOICE,
            choices=tuple(How),
            required=True,
            help="how the answer was given",
        ),
        to("by", "by", "person", "who answered, from the sheet people", required=True),
        money("limit", "limit", "what may be billed for the vehicle in all, not to be exceeded"),
        to("request", "answers", "change request", "change request it answers"),
        words("words", "words", "the owner's own words; private"),
        DOCUMENTS,
    ),
)

OWNER_SHEETS = (ORDERS, REQUESTS, APPROVALS)
