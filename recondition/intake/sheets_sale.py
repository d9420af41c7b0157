"""The sheet of what became of a vehicle at its sale."""

from __future__ import annotations

from recondition.intake.sheets_books import PERIOD
from recondition.intake.sheets_worth import tiers
from recondition.intake.spec import (
    DOCUMENT_REFS,
    PRIVATE_NOTE,
    ROW_REF,
    Sheet,
    choice,
    day,
    money,
    own_ref,
    text,
    vehicle,
    words,
)
from recondition.worth.estimates import Basis
from recondition.worth.track import SaleResult, SaleTax

SALES = Sheet(
    name="sales",
    kind="sale",
    explanation="What became of a vehicle at its sale, and what was settled; decisions are held "
    "against it. Where commission, premium and fees are empty those of the terms count. A sale is "
    "posted once: one that fell through is taken back ('recondition post undo').",
    ref_prefix="Y-",
    columns=(
        own_ref("ref", ROW_REF, example="Y-001"),
        vehicle(),
        day("sold_on", "sold on", "day of the sale", required=True),
        money("price", "price", "what it fetched; empty where it was not sold"),
        choice("basis", "price is", tuple(Basis), "hammer or all-in", default="hammer"),
        PRIVATE_NOTE,
        choice("result", "result", tuple(SaleResult), "how the sale ended", default="sold"),
        tiers("commission", "seller's commission", "what the seller pays"),
        tiers("premium", "buyer's premium", "what the buyer pays on top"),
        money("fees", "sale fees", "what the organiser keeps besides, or bills where unsold"),
        tiers("shop_commission", "shop's commission", "what an owner pays the shop"),
        choice(
            "tax",
            "taxed",
            tuple(SaleTax),
            "empty: not at all; for an owner's car it is the tax on the shop's commission",
        ),
        text("tax_code", "tax code", "as on the sheet 'tax codes'"),
        words(
            "margin_because",
            "margin because",
            "why the margin scheme may be used for a car that is shut out of it by default",
        ),
        words("buyer", "buyer", "name and address; private, for the stock book"),
        text("invoice_number", "sales invoice", "number of the invoice to the buyer"),
        PERIOD,
        DOCUMENT_REFS,
    ),
)
