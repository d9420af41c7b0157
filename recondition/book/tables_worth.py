"""Tables of the decision: tests to make first, comparables, frozen decisions, sales."""

from __future__ import annotations

from recondition.book.columns import (
    booked,
    count,
    flag,
    minor,
    posted,
    refers,
    text,
    three_minor,
    three_text,
)

trial = posted(
    "trial",
    refers("vehicle", "of which vehicle"),
    refers("decides", "candidate work in question"),
    text("p_good", "chance that it turns out well, 0 to 1", required=True),
    *three_minor("good_uplift", "uplift if it does"),
    *three_minor("bad_uplift", "uplift if it does not"),
    *three_text("good_hours", "hours if it does"),
    *three_minor("good_cash", "cash if it does"),
    *three_text("bad_hours", "hours if it does not"),
    *three_minor("bad_cash", "cash if it does not"),
    text("test_hours", "hours of the test"),
    minor("test_cash", "cash of the test"),
    text("reliability", "chance that the test says rightly which it is, 0 to 1"),
)
comparable = posted(
    "comparable",
    refers("vehicle", "whose price it bears on"),
    text("price_is", "sale, organiser's estimate or this vehicle", required=True),
    text("sold_on", "day of the sale"),
    minor("price", "price fetched"),
    minor("estimate_low", "low estimate printed"),
    minor("estimate_high", "high estimate printed"),
    text("basis", "hammer or all-in"),
    text("features", "what it is like, canonical list"),
)
decision = posted(
    "decision",
    refers("vehicle", "of which vehicle"),
    text("decided_on", "day", required=True),
    *three_minor("price", "price expected after the work"),
    text("basis", "hammer or all-in", required=True),
    *three_minor("cost", "cost of the plan"),
    *three_minor("net", "net of the plan"),
    flag("proven", "proven best"),
    text("inputs", "all it rested on, canonical", required=True),
    text("versions", "what worked it out", required=True),
    count("seed", "seed of the draws"),
)
sale = posted(
    "sale",
    refers("vehicle", "of which vehicle"),
    text("sold_on", "day", required=True),
    minor("price", "what it was sold for"),
    text("basis", "hammer or all-in"),
    text("result", "sold, unsold or withdrawn"),
    text("commission", "seller's commission by slices, canonical list"),
    text("premium", "buyer's premium by slices, canonical list"),
    text("shop_commission", "what an owner pays the shop, canonical list"),
    text("tax", "how it is taxed"),
    text("tax_code", "tax code"),
    text("invoice_number", "number of the sales invoice"),
    *booked(
        "hammer",
        "commission",
        "fees",
        "shop_commission",
        "premium",
        "tax",
        "scheme_price",
        "margin",
    ),
)
