"""Tables of the books: tax codes, account map, invoices, payments, periods, exports."""

from __future__ import annotations

from recondition.book.columns import (
    amount,
    booked,
    flag,
    foreign,
    minor,
    posted,
    refers,
    reverses,
    text,
)

tax_code = posted(
    "tax_code",
    text("code", "code as on the lines", required=True),
    text("from_date", "first day it holds", required=True),
    text("rate", "fraction of the amount without tax", required=True),
    text("recoverable", "share of tax paid that comes back", required=True),
    text("last_day", "last day it holds"),
    text("charged_on", "kinds of billed line it is charged on, canonical list"),
)
account = posted(
    "account",
    text("role", "what goes to it", required=True),
    text("from_date", "first day it holds", required=True),
    text("code", "account code", required=True),
    text("name", "account name", required=True),
)
supplier_invoice = posted(
    "supplier_invoice",
    refers("supplier", "who sent it"),
    text("number", "as on the invoice", required=True),
    text("invoice_on", "its day", required=True),
    minor("total", "total with tax"),
    minor("tax", "tax in it"),
    *foreign(),
    text("owed", "supplier or seller of a vehicle", required=True),
    text("received_on", "day it came"),
    text("due_on", "day it is due"),
    flag("opening", "owed before the book began"),
    *booked("home"),
)
shared_charge = posted(
    "shared_charge",
    text("work_date", "when it happened", required=True),
    minor("price", "amount for all of them"),
    text("by", "rule it is shared by", required=True),
    text("weights", "one for each vehicle, canonical list"),
    text("item", "what it was paid for", required=True),
    text("unlinked", "why it links to no finding"),
    text("tax_point", "date that decides the tax period"),
    text("period", "posting period YYYY-MM"),
    text("tax_code", "tax code"),
    minor("tax", "tax on all of it"),
    *foreign(),
    text("settled", "on account, bank or opening"),
    refers("supplier", "who supplied"),
    text("invoice_number", "supplier's invoice"),
)
payment = posted(
    "payment",
    text("paid_on", "day the money moved", required=True),
    text("way", "paid, received or set off", required=True),
    minor("amount", "what moved on the bank"),
    *foreign(),
    refers("invoice", "supplier invoice that it settles"),
    refers("owner_invoice", "owner invoice that it settles"),
    refers("sale", "sale that it settles"),
    *booked("settled", "exchange"),
)
period_event = posted(
    "period_event",
    text("period", "YYYY-MM", required=True),
    text("step", "closed or reopened", required=True),
    text("map_version", "hash of the account map"),
    text("journal", "the period's journal, canonical"),
    minor("debits", "sum of debits, and of credits"),
    text("heads", "hash over all chain heads"),
    text("accruals", "sublet work not yet invoiced, canonical list"),
)
value_test = posted(
    "value_test",
    refers("vehicle", "of which vehicle"),
    text("tested_on", "day", required=True),
    minor("expected_price", "what it may fetch"),
    minor("to_complete", "what it takes to finish"),
    minor("to_sell", "what it takes to sell"),
    *booked("carrying", "change"),
)
paid_hours = posted(
    "paid_hours",
    refers("person", "who was paid"),
    text("week", "its Monday", required=True),
    *amount("hours", "hours paid"),
)
entry_reversal = posted(
    "entry_reversal",
    refers("vehicle", "of which vehicle"),
    reverses("what it takes back; a record is taken back once"),
    text("reversed_on", "day", required=True),
    *booked(),
)
export_batch = posted(
    "export_batch",
    text("what", "workbook, journal or lines", required=True),
    text("exported_on", "day", required=True),
    text("period", "narrowed to this period"),
    text("vehicle", "narrowed to this stock number"),
    text("sha256", "hash of the data", required=True),
    text("lines", "how many lines", required=True),
    text("upto", "records of each chain, canonical", required=True),
)
