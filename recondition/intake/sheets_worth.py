"""Sheets of what could be done and what it may bring: candidates, interactions, terms."""

from __future__ import annotations

from recondition.intake.spec import (
    PRIVATE_NOTE,
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
    three,
    to,
    vehicle,
    words,
)
from recondition.worth.estimates import Basis, CandidateState
from recondition.worth.sales import PriceIs
from recondition.worth.terms import SellsWhen

CANDIDATES = Sheet(
    name="candidates",
    kind="candidate",
    explanation="What could be done, what it may cost and what it may bring. Uplift is what the "
    "work adds to the price, in money or in percent of the as-is price, never both. There are "
    "no ready-made uplifts: say whose estimate it is and what it rests on.",
    ref_prefix="C-",
    prefilled=True,
    columns=(
        own_ref("ref", ROW_REF, example="C-001"),
        vehicle(),
        words("name", "work", "what would be done", required=True),
        refs(
            "findings",
            "findings",
            "finding",
            "refs of the findings it is for",
            example="F-001; F-002",
        ),
        ColumnSpec(
            field="panels",
            heading="panels",
            parse=Parse.TEXTS,
            help="panels it touches",
            example="bonnet; left front wing",
        ),
        *three("hours", "hours {}", Parse.NUMBER, "hands-on hours", unit="hours", required=True),
        *three("cash", "cash {}", Parse.MONEY, "cash paid out, without hours", unit="money"),
        *three("uplift", "uplift {}", Parse.MONEY, "added to the price", unit="money"),
        *three(
            "uplift_percent",
            "uplift {} %",
            Parse.PERCENT,
            "added to the price, in percent of the mean as-is price",
            unit="percent",
        ),
        choice(
            "uplift_basis",
            "uplift on",
            tuple(Basis),
            "which price the uplift speaks of; empty: the same as the terms",
        ),
        ColumnSpec(
            field="p_success",
            heading="chance of success",
            parse=Parse.SHARE,
            unit="0 to 1, or with %",
            default="1",
            help="0.9 or 90%; empty means it is certain",
            example="90%",
        ),
        money("fail_cash", "cash if it fails", "further cash when it fails", below_zero=True),
        money(
            "fail_uplift",
            "uplift if it fails",
            "what is left of the uplift; may be negative",
            below_zero=True,
        ),
        ColumnSpec(
            field="fail_uplift_percent",
            heading="uplift if it fails %",
            parse=Parse.PERCENT,
            unit="percent",
            help="the same in percent of the mean as-is price",
        ),
        number(
            "extra_days", "extra days", "days by which it delays the sale", unit="days", default="0"
        ),
        refs("requires", "requires", "candidate", "work that must come first", example="C-002"),
        refs("excludes", "excludes", "candidate", "work it cannot be done with", example="C-003"),
        flag("after_all", "after all other work", "yes for photographs and the like"),
        number(
            "cure_hours",
            "cure hours",
            "drying or hardening afterwards",
            unit="clock hours",
            default="0",
        ),
        flag("cure_keeps_bay", "cure keeps the bay", "yes where the bay is not free meanwhile"),
        number(
            "delivery_hours",
            "delivery hours",
            "wait before it can start",
            unit="clock hours",
            default="0",
        ),
        flag("irreversible", "irreversible", "yes where it cannot be undone"),
        flag(
            "consent_given", "consent given", "yes where the owner agreed to what is irreversible"
        ),
        flag("no_touch", "no touch", "yes where it must not be done"),
        choice("state", "state", tuple(CandidateState), "where the work stands", default="open"),
        words("left_reason", "left because", "why it is not to be done"),
        to("estimated_by", "estimated by", "person", "initials"),
        day("estimated_on", "estimated on", "which day"),
        words("estimate_ground", "estimate rests on", "sales seen, a quote, your own record"),
        amount(
            "film_removal",
            "film it takes",
            "expected off each of its panels; a number is micrometres",
            unit="um",
            at_least=0,
            example="4 um",
        ),
        refs("products", "products", "product", "what it would use", example="M-001"),
        words(
            "override",
            "override because",
            "why it may be done although the film or a caution would stop it; printed",
        ),
        ColumnSpec(
            field="skills",
            heading="skills",
            parse=Parse.TEXTS,
            help="what whoever does it must be able to do; see the sheet people",
            example="leather",
        ),
    ),
)

INTERACTIONS = Sheet(
    name="interactions",
    kind="interaction",
    explanation="What pieces of work are worth together beyond their parts. It counts when every "
    "one of them is chosen; it may be negative.",
    ref_prefix="I-",
    columns=(
        own_ref("ref", ROW_REF, example="I-001"),
        vehicle(),
        refs(
            "items",
            "candidates",
            "candidate",
            "refs of two or more pieces of work",
            required=True,
            example="C-001; C-002",
        ),
        money(
            "delta_uplift",
            "uplift together",
            "added to the price on top",
            required=True,
            below_zero=True,
        ),
        words("why", "why", "what it rests on"),
    ),
)


def tiers(field: str, heading: str, explanation: str) -> ColumnSpec:
    """Give a column of a rate that may come in slices of the hammer."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.TIERS,
        unit="percent of the hammer",
        help=explanation,
        example="10% to 50000; 8%",
    )


TERMS = Sheet(
    name="terms",
    kind="terms",
    explanation="How a vehicle is to be sold: price as it stands, commission, premium, last day, "
    "and the limits of the work.",
    ref_prefix="T-",
    columns=(
        own_ref("ref", ROW_REF, example="T-001"),
        vehicle(),
        choice(
            "basis",
            "prices are",
            tuple(Basis),
            "hammer = the winning bid; all-in = with the buyer's premium on top",
            required=True,
        ),
        *three(
            "as_is",
            "as-is price {}",
            Parse.MONEY,
            "price today",
            unit="money",
            required=True,
            at_least=0,
        ),
        money(
            "labour_cost_rate",
            "labour cost rate per hour",
            "what an hour costs the shop in the plan",
            unit="per hour",
            required=True,
        ),
        money(
            "charge_out_rate",
            "charge-out rate per hour",
            "what an owner pays for an hour in the plan",
            unit="per hour",
        ),
        tiers("commission", "seller's commission", "what the seller pays"),
        tiers("premium", "buyer's premium", "what the buyer pays on top"),
        money("fees", "sale fees", "sum of the fixed fees"),
        choice(
            "sells",
            "sells",
            tuple(SellsWhen),
            "on a fixed day, or when it is ready",
            default="fixed day",
        ),
        day("sale_day", "sale day", "day of the sale"),
        day("cut_off", "cut-off", "the real last day: photographs or catalogue"),
        money("holding_per_day", "holding cost per day", "storage, insurance", unit="per day"),
        money("cash_limit", "cash limit", "cash that may be spent; empty where there is none"),
        number(
            "hours_limit", "hours limit", "hours that may be spent; empty: no limit", unit="hours"
        ),
        money("owner_limit", "owner's limit", "what the owner allows to be spent"),
        PRIVATE_NOTE,
        day("work_from", "work from", "first day on which work can be done; empty: at once"),
        text("cut_off_time", "cut-off time", "time of day on the cut-off", example="12:00"),
        money("loss_limit", "loss limit", "worst outcome that may be risked without asking"),
        money("ask_above", "ask above", "one piece of work that costs more is asked about"),
        number(
            "next_sale_days",
            "days to the next sale",
            "how many days later the next sale is",
            unit="days",
            at_least=1,
        ),
        money("next_sale_fee", "next sale fee", "what entering the next sale costs once more"),
    ),
)

TRIALS = Sheet(
    name="test first",
    kind="trial",
    explanation="A test panel or an expert's word before committing, and how the work turns out "
    "either way. The plan says what the test is worth.",
    ref_prefix="X-",
    columns=(
        own_ref("ref", ROW_REF, example="X-001"),
        vehicle(),
        words("name", "item", "what would be tested, and how", required=True),
        to("decides", "decides", "candidate", "ref of the candidate work in question"),
        ColumnSpec(
            field="p_good",
            heading="chance it turns out well",
            parse=Parse.SHARE,
            unit="0 to 1, or with %",
            required=True,
            help="0.55 or 55%",
            example="55%",
        ),
        *three("good_uplift", "uplift if well {}", Parse.MONEY, "added to the price",
               unit="money", required=True),
        *three("bad_uplift", "uplift if badly {}", Parse.MONEY, "added to the price, often below "
               "zero", unit="money", required=True),
        *three("good_hours", "hours {}", Parse.NUMBER, "hands-on hours", unit="hours",
               required=True),
        *three("good_cash", "cash {}", Parse.MONEY, "cash paid out", unit="money", required=True),
        *three("bad_hours", "hours if badly {}", Parse.NUMBER, "hours where it turns out badly; "
               "empty: the same", unit="hours"),
        *three("bad_cash", "cash if badly {}", Parse.MONEY, "cash where it turns out badly; "
               "empty: the same", unit="money"),
        number("test_hours", "test hours", "hours of the test", unit="hours", default="0",
               at_least=0),
        money("test_cash", "test cash", "cash of the test"),
        ColumnSpec(
            field="reliability",
            heading="test is right",
            parse=Parse.SHARE,
            unit="0 to 1, or with %",
            default="1",
            help="how often the test says rightly which it is",
            example="90%",
        ),
    ),
)  # fmt: skip

COMPARABLES = Sheet(
    name="comparables",
    kind="comparable",
    explanation="Sales of like vehicles, for the price as it stands. One row without a price is "
    "'this vehicle' with its own features. Estimates printed by a sale's organiser are kept as "
    "what they are: they forecast no hammer and are not fitted.",
    ref_prefix="S-",
    columns=(
        own_ref("ref", ROW_REF, example="S-001"),
        vehicle(),
        words("what", "sold vehicle", "what was sold", required=True),
        choice("price_is", "row is", tuple(PriceIs), "what the row is", default="sale"),
        day("sold_on", "sold on", "day of the sale"),
        money("price", "price", "what it fetched"),
        money("estimate_low", "estimate low", "low estimate printed"),
        money("estimate_high", "estimate high", "high estimate printed"),
        choice("basis", "price is", tuple(Basis), "hammer or all-in", default="hammer"),
        ColumnSpec(
            field="features",
            heading="features",
            parse=Parse.TEXTS,
            help="what bears on the price, in numbers or yes and no",
            example="km=48000; full file=yes",
        ),
        words("source", "source", "where the price stands"),
    ),
)
