"""The tables of stock, clocks, orders and what owners allowed; see ``tables``."""

from __future__ import annotations

from sqlalchemy import BigInteger, Column

from recondition.book.columns import (
    amount,
    booked,
    flag,
    foreign,
    minor,
    posted,
    refers,
    reverses,
    rework,
    text,
    window,
)

receipt = posted(
    "receipt",
    refers("product", "of which product"),
    text("received_on", "day of delivery", required=True),
    text("quantity_number", "how much", required=True),
    text("quantity_unit", "unit of that", required=True),
    minor("price", "price of the whole delivery"),
    minor("freight", "freight billed with it"),
    minor("tax_not_recovered", "tax that does not come back"),
    text("batch_number", "as printed on the container"),
    text("use_by", "last day it is good, closed"),
    refers("supplier", "who supplied"),
    text("invoice_number", "supplier's invoice"),
    minor("tax_recovered", "tax that comes back"),
    *foreign(),
    text("settled", "on account, bank or opening"),
    *booked(),
)

late_freight = posted(
    "late_freight",
    refers("product", "of which product"),
    refers("receipt", "of which receipt"),
    text("billed_on", "day it was billed", required=True),
    minor("price", "amount"),
    refers("supplier", "who billed it"),
    text("invoice_number", "their invoice"),
    *booked(),
)

supplier_return = posted(
    "supplier_return",
    refers("product", "of which product"),
    refers("receipt", "of which receipt"),
    text("returned_on", "day it went back", required=True),
    text("quantity_number", "how much", required=True),
    text("quantity_unit", "unit of that", required=True),
    minor("credit", "what the supplier credits"),
    *booked(),
)

stock_reversal = posted(
    "stock_reversal",
    refers("product", "of which product"),
    reverses("what it takes back; a record is reversed once"),
    text("reversed_on", "day of the reversal", required=True),
    *booked(),
)

container = posted(
    "container",
    refers("product", "of which product"),
    refers("receipt", "batch that is in it"),
    *amount("tare", "weight when empty"),
    *amount("holds", "how much it takes when full"),
    text("tare_note", "cap or trigger weighed with it"),
    text("opened_on", "day it was opened"),
    text("emptied_on", "day it was empty or thrown away"),
)

mixed = posted(
    "mixed",
    refers("product", "of which product"),
    text("mixed_on", "day of mixing", required=True),
    text("concentrate_number", "concentrate in it", required=True),
    text("concentrate_unit", "unit of that", required=True),
    text("water_number", "water in it", required=True),
    text("water_unit", "unit of that", required=True),
    refers("receipt", "batch of the concentrate"),
    refers("container", "bottle it is in"),
)

standard_amount = posted(
    "standard_amount",
    refers("product", "of which product"),
    text("operation", "for which operation", required=True),
    text("quantity_number", "how much", required=True),
    text("quantity_unit", "unit of that", required=True),
)

movement = posted(
    "movement",
    refers("product", "of which product"),
    refers("source", "record that caused it"),
    text("flow", "where it counts in the stock identity", required=True),
    text("moved_on", "day it happened", required=True),
    text("quantity", "adds to the flow, in the stock unit", required=True),
    Column("cost_minor", BigInteger, nullable=False, comment="adds to the flow, minor units"),
    Column(
        "price_difference_minor",
        BigInteger,
        nullable=False,
        comment="adds to the price difference, minor units",
    ),
    text("on_hand", "on hand afterwards, in the stock unit", required=True),
    Column("value_minor", BigInteger, nullable=False, comment="its value, minor units"),
)

clock = posted(
    "clock",
    refers("vehicle", "on which vehicle"),
    refers("person", "whose clock"),
    text("operation", "operation"),
    text("panel", "panel"),
    refers("candidate", "candidate work"),
    text("unlinked", "why it serves no finding"),
    *rework(),
    flag("stopped", "whether it was stopped"),
    *amount("film_removal", "film the work is expected to take"),
)

ordered = posted(
    "ordered",
    refers("vehicle", "for which vehicle"),
    text("what", "part or sublet", required=True),
    *amount("quantity", "how many"),
    minor("quoted", "quoted for the whole of it"),
    text("quoted_on", "day of the quote"),
    text("ordered_on", "day it was ordered or left"),
    text("promised_on", "day it was promised for"),
    text("received_on", "day it came or was back"),
    text("returned_on", "day it was sent back unused"),
    refers("supplier", "from whom"),
    text("origin", "origin of the part"),
    refers("candidate", "candidate work"),
    *window(),
)

change_request = posted(
    "change_request",
    refers("vehicle", "of which vehicle"),
    text("asked_on", "day the owner was asked", required=True),
    minor("amount", "what it would be billed at"),
    minor("limit", "the limit asked for"),
)

approval = posted(
    "approval",
    refers("vehicle", "of which vehicle"),
    text("answered_on", "day of the answer", required=True),
    text("answer", "approved or declined", required=True),
    minor("amount", "what was approved"),
    text("how", "how it was given", required=True),
    refers("by", "who gave it"),
    minor("limit", "what may be billed in all"),
    refers("request", "change request it answers"),
)

owner_invoice = posted(
    "owner_invoice",
    refers("vehicle", "of which vehicle"),
    text("issued_on", "day it was issued", required=True),
    minor("total", "sum of its lines"),
    *booked("tax"),
)
