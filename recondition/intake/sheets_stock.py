"""Sheets of stock: receipts, containers, mixes, standard amounts, freight, returns."""

from __future__ import annotations

from recondition.intake.sheets_books import FOREIGN, PERIOD, SETTLED
from recondition.intake.spec import (
    DOCUMENT_REFS,
    PRIVATE_NOTE,
    ROW_REF,
    Sheet,
    amount,
    day,
    money,
    own_ref,
    text,
    to,
    words,
)

PRODUCT = to("product", "product", "product", "ref from the sheet products", required=True)
_RECEIPT = to("receipt", "batch", "receipt", "ref from the sheet receipts")
SUPPLIED = (
    to("supplier", "supplier", "supplier", "ref from the sheet suppliers"),
    text("invoice_number", "invoice number", "as on the supplier's invoice"),
)


RECEIPTS = Sheet(
    name="receipts",
    kind="receipt",
    explanation="Deliveries into stock, one row a product: the batch it is traced by, and what "
    "it cost with freight and tax that does not come back. A receipt is posted once: a wrong "
    "one is taken back ('recondition stock reverse') and entered anew.",
    ref_prefix="RC-",
    columns=(
        own_ref("ref", ROW_REF, example="RC-001"),
        PRODUCT,
        day("received_on", "received on", "day it came", required=True),
        amount(
            "quantity",
            "amount received",
            "with its unit; pieces are full containers where the product is kept by volume or "
            "weight",
            required=True,
            example="2 pieces",
        ),
        money(
            "price",
            "price",
            "for all of it, without tax that comes back; empty: by the foreign amount",
        ),
        money("freight", "freight", "that belongs to this row"),
        money("tax_not_recovered", "tax not recovered", "tax paid that does not come back"),
        text("batch_number", "batch number", "as printed on the container"),
        day("use_by", "use by", "last day it is good while closed"),
        *SUPPLIED,
        money("tax_recovered", "tax that comes back", "tax on the invoice that is no cost"),
        *FOREIGN,
        SETTLED,
        PERIOD,
        DOCUMENT_REFS,
        PRIVATE_NOTE,
    ),
)

CONTAINERS = Sheet(
    name="containers",
    kind="container",
    explanation="Bottles, tubs and single pads with a label of their own, so that a use can be "
    "weighed with three values. A changed row is a new version: an opened bottle, a new cap.",
    columns=(
        own_ref("label", "what stands on its label, once here", example="K-07", named=True),
        PRODUCT,
        _RECEIPT,
        amount("tare", "tare", "weight when empty, with cap or trigger", unit="g"),
        text("tare_note", "weighed with", "cap or trigger that is in the tare", example="flip cap"),
        amount("holds", "holds", "when full, for level marks; empty: the product's size"),
        day("opened_on", "opened on", "first day open"),
        day("emptied_on", "emptied on", "day it was empty or thrown away"),
    ),
)

MIXES = Sheet(
    name="mixed batches",
    kind="mixed batch",
    explanation="Batches mixed ready for use. Only the concentrate has stock and cost; it leaves "
    "stock as the mix is used or thrown away.",
    ref_prefix="X-",
    columns=(
        own_ref("ref", "the row's own name, such as the sprayer's label and day", example="X-001"),
        PRODUCT,
        day("mixed_on", "mixed on", "day of mixing", required=True),
        amount(
            "concentrate",
            "concentrate",
            "what was poured of the product",
            required=True,
            unit="ml",
            example="70 ml",
        ),
        amount(
            "water",
            "water",
            "what was poured of water",
            required=True,
            unit="ml",
            at_least=0,
            example="700 ml",
        ),
        _RECEIPT,
        to("container", "container", "container", "label of the bottle it is in"),
    ),
)

STANDARDS = Sheet(
    name="standard amounts",
    kind="standard amount",
    explanation="What an operation is taken to use where nobody measured. Such a use is shown as "
    "assumed and never enters the shop's own figures.",
    ref_prefix="N-",
    columns=(
        own_ref("ref", ROW_REF, example="N-001"),
        PRODUCT,
        text("operation", "operation", "as on the lines", required=True, example="wash"),
        amount("quantity", "amount", "with its unit", required=True, example="30 ml"),
        words("basis", "basis", "where the figure comes from"),
    ),
)

FREIGHT = Sheet(
    name="late freight",
    kind="late freight",
    explanation="Freight and other cost of bringing stock here that was billed after its receipt "
    "was posted. It goes on what is still on hand; the rest is price difference.",
    ref_prefix="LF-",
    columns=(
        own_ref("ref", ROW_REF, example="LF-001"),
        PRODUCT,
        to("receipt", "receipt", "receipt", "ref from the sheet receipts", required=True),
        day("billed_on", "billed on", "day of the invoice", required=True),
        money("price", "amount", "without tax that comes back", required=True),
        words("words", "words", "what it is for", required=True),
        *SUPPLIED,
        PERIOD,
        DOCUMENT_REFS,
    ),
)

RETURNS = Sheet(
    name="supplier returns",
    kind="supplier return",
    explanation="Stock that went back to its supplier, for a credit.",
    ref_prefix="SR-",
    columns=(
        own_ref("ref", ROW_REF, example="SR-001"),
        PRODUCT,
        to("receipt", "receipt", "receipt", "ref from the sheet receipts", required=True),
        day("returned_on", "returned on", "day it went back", required=True),
        amount("quantity", "amount returned", "with its unit", required=True),
        money("credit", "credit", "what the supplier credits for it", required=True),
        words("words", "words", "why it went back", required=True),
        PERIOD,
        DOCUMENT_REFS,
    ),
)

STOCK_SHEETS = (RECEIPTS, CONTAINERS, MIXES, STANDARDS)
LATER_STOCK_SHEETS = (FREIGHT, RETURNS)
