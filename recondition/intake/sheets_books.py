"""Sheets of the books: tax codes, account map, supplier invoices, shared charges, payments."""

from __future__ import annotations

from recondition.accounts.chart import DEFAULT
from recondition.accounts.invoices import Owed, Way
from recondition.amounts.documents import Settled
from recondition.intake.spec import (
    DOCUMENT_REFS,
    PRIVATE_NOTE,
    PUBLIC,
    ROW_REF,
    ColumnSpec,
    Parse,
    Sheet,
    amount,
    choice,
    day,
    flag,
    money,
    number,
    own_ref,
    refs,
    text,
    to,
    vehicle,
    words,
)
from recondition.ledger.items import CostItem
from recondition.ledger.lines import Unlinked
from recondition.ledger.shared import SharedBy

PERIOD = ColumnSpec(
    field="period",
    heading="period",
    parse=Parse.MONTH,
    help="month it is booked in; empty: that of its day, or the first open one after it",
    example="2024-05",
)
FOREIGN = (
    ColumnSpec(
        field="foreign.amount",
        heading="foreign amount",
        parse=Parse.FOREIGN,
        help="the same amount in the document's own currency, with its code",
        example="58000.00 EUR",
    ),
    number(
        "foreign.rate",
        "exchange rate",
        "home currency for one of the foreign one, of the day of the transaction",
        example="1.0835",
        at_least=0,
    ),
    text("foreign.source", "rate source", "whose rate it is", example="central bank, daily"),
)
TAXED = (
    text("tax_code", "tax code", "as on the sheet 'tax codes'; empty: no tax"),
    money("tax", "tax", "tax on the invoice for this row; empty: rate times the amount"),
)
SETTLED = choice(
    "settled",
    "settled",
    tuple(Settled),
    "empty: on account; bank = paid at once; opening = stood in the books before this one began",
)
ITEM = choice("item", "paid for", tuple(CostItem), "what the amount was paid for")

TAX_CODES = Sheet(
    name="tax codes",
    kind="tax code",
    explanation="Tax rates of the book's own, each from a day on, with where it was read. None are "
    "built in. General information: the local accountant decides what applies.",
    ref_prefix="TC-",
    columns=(
        own_ref("ref", ROW_REF, example="TC-001"),
        text("code", "code", "name of the code on lines and sales", required=True, example="STD"),
        day("from_date", "from", "first day it holds", required=True),
        ColumnSpec(
            field="rate",
            heading="rate",
            parse=Parse.SHARE,
            required=True,
            help="of the amount without tax; 0.2 or 20%",
            example="20%",
        ),
        ColumnSpec(
            field="recoverable",
            heading="comes back",
            parse=Parse.SHARE,
            required=True,
            help="how much of the tax paid comes back; what does not is cost",
            example="100%",
        ),
        words("source", "source", "where the rate was read, and when", required=True),
        day("last_day", "last day", "where it ends with no later row"),
        ColumnSpec(
            field="charged_on",
            heading="charged on",
            parse=Parse.TEXTS,
            help="kinds of line it is charged on when they are billed to an owner",
            example="part; consumable",
        ),
    ),
)

ACCOUNTS = Sheet(
    name="accounts",
    kind="account",
    explanation="The account map: what goes to which account of your own chart, from a day on. "
    "What stands on another account before that day stays there. What is not named here goes to "
    "a generic account ('recondition account list').",
    ref_prefix="AC-",
    columns=(
        own_ref("ref", ROW_REF, example="AC-001"),
        choice("role", "what goes there", tuple(DEFAULT), "kind of posting", required=True),
        day("from_date", "from", "first day it holds", required=True),
        text("code", "account code", "in your own chart", required=True, example="1410"),
        text("name", "account name", "in your own chart", required=True),
    ),
)

SUPPLIER_INVOICES = Sheet(
    name="supplier invoices",
    kind="supplier invoice",
    explanation="Invoices and credit notes (below zero) as they came, with tax. Lines and receipts "
    "that name the supplier and the number are held against them.",
    ref_prefix="SI-",
    columns=(
        own_ref("ref", ROW_REF, example="SI-001"),
        to("supplier", "supplier", "supplier", "ref from the sheet suppliers", required=True),
        text("number", "invoice number", "as on the invoice", required=True),
        day("invoice_on", "invoice day", "as on the invoice", required=True),
        money("total", "total", "with tax; empty: by the foreign amount", below_zero=True),
        money("tax", "tax", "tax in the total", below_zero=True),
        *FOREIGN,
        choice("owed", "owed to", tuple(Owed), "whom it is owed to", default="supplier"),
        day("received_on", "came on", "day it came"),
        day("due_on", "due on", "day it is to be paid"),
        flag("opening", "opening", "yes where it was owed before this book began"),
        PERIOD,
        DOCUMENT_REFS,
        PRIVATE_NOTE,
    ),
)

SHARED_CHARGES = Sheet(
    name="shared charges",
    kind="shared charge",
    explanation="One cost of several vehicles, such as the freight of a container. Each row "
    "becomes one charge for each vehicle; the odd cent goes by largest remainder.",
    ref_prefix="SC-",
    columns=(
        own_ref("ref", ROW_REF, example="SC-001"),
        day("work_date", "work date", "when it happened", required=True),
        money("price", "amount", "for all of them, without tax that you get back"),
        refs("vehicles", "vehicles", "vehicle", "stock numbers", required=True,
             example="0007; 0008"),
        choice("by", "shared by", tuple(SharedBy), "the rule", required=True),
        ColumnSpec(
            field="weights",
            heading="weights",
            parse=Parse.NUMBERS,
            help="one for each vehicle, in their order; by value and empty: what was paid for each",
            example="1450 1210",
        ),
        words("words", PUBLIC, "what was paid for", required=True),
        choice("item", "paid for", tuple(CostItem), "what it was paid for", required=True),
        choice("unlinked", "no finding because", tuple(Unlinked), "empty: by what it was paid for"),
        to("supplier", "supplier", "supplier", "ref from the sheet suppliers"),
        text("invoice_number", "invoice number", "as on the supplier's invoice"),
        *TAXED,
        *FOREIGN,
        SETTLED,
        day("tax_point", "tax point", "date that decides the tax period, as on the invoice"),
        PERIOD,
        DOCUMENT_REFS,
        PRIVATE_NOTE,
    ),
)  # fmt: skip

PAYMENTS = Sheet(
    name="payments",
    kind="payment",
    explanation="Money paid and received, each against what it settles: a supplier invoice, an "
    "owner's invoice or a sale. A set-off takes an owner's invoice out of the proceeds of a sale.",
    ref_prefix="PY-",
    columns=(
        own_ref("ref", ROW_REF, example="PY-001"),
        day("paid_on", "paid on", "day the money moved", required=True),
        choice("way", "way", tuple(Way), "which way it went", default="paid"),
        money("amount", "amount", "what moved on the bank; empty: by the foreign amount"),
        *FOREIGN,
        to("invoice", "supplier invoice", "supplier invoice", "ref of the invoice it settles"),
        to("owner_invoice", "owner invoice", "owner invoice", "number of the owner's invoice"),
        to("sale", "sale", "sale", "ref of the sale whose proceeds it is"),
        words("words", "words", "what for"),
        PERIOD,
        DOCUMENT_REFS,
    ),
)

VALUE_TESTS = Sheet(
    name="value tests",
    kind="value test",
    explanation="What an unsold own car may fetch, less what it takes to finish and sell it. Where "
    "that is below its cost it is written down; a later test takes that back, up to cost.",
    ref_prefix="VT-",
    columns=(
        own_ref("ref", ROW_REF, example="VT-001"),
        vehicle(),
        day("tested_on", "tested on", "day of the test", required=True),
        money("expected_price", "expected price", "what it may fetch", required=True),
        money("to_complete", "to finish", "cost of finishing it", required=True),
        money("to_sell", "to sell", "cost of selling it", required=True),
        words("basis", "basis", "what the figures rest on", required=True),
        PERIOD,
    ),
)

PAID_HOURS = Sheet(
    name="paid hours",
    kind="paid hours",
    explanation="Hours that each person was paid for, by week, to hold job hours against.",
    ref_prefix="PH-",
    columns=(
        own_ref("ref", ROW_REF, example="PH-001"),
        to("person", "person", "person", "initials from the sheet people", required=True),
        day("week", "week", "its Monday", required=True),
        amount("hours", "hours paid", "a number is hours", unit="h", required=True, at_least=0),
    ),
)

BOOKS_SHEETS = (TAX_CODES, ACCOUNTS)
"""Sheets that others rest on."""
BOUGHT_SHEETS = (SUPPLIER_INVOICES, SHARED_CHARGES)
"""Sheets of what was bought, beside the lines."""
LATER_BOOKS_SHEETS = (PAYMENTS, VALUE_TESTS, PAID_HOURS)
"""Sheets that rest on lines and sales."""
