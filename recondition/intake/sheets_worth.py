"""Sheets of what could be done and what it may bring: candidates, interactions, terms."""

from __future__ import annotations

from dataclasses import replace

from recondition.intake.spec import (
    PRIVATE_NOTE,
    ROW_REF,
    ColumnSpec,
    Parse,
    Sheet,
    own_ref,
    three,
    to,
    vehicle,
    words,
)
from recondition.worth.estimates import Basis, CandidateState
from recondition.worth.terms import SellsWhen


def _refs(field: str, heading: str, target: str, explanation: str, example: str) -> ColumnSpec:
    """Give a column that names several rows of a sheet."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.TO_MANY,
        target=target,
        help=explanation,
        example=example,
    )


def _money(
    field: str, heading: str, explanation: str, *, unit: str = "money", required: bool = False
) -> ColumnSpec:
    """Give a column of one amount, which may be negative."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.MONEY,
        unit=unit,
        required=required,
        help=explanation,
    )


def _owed(
    field: str, heading: str, explanation: str, *, unit: str = "money", required: bool = False
) -> ColumnSpec:
    """Give a column of one amount that cannot be below nothing."""
    column = _money(field, heading, explanation, unit=unit, required=required)
    return replace(column, at_least=0)


def _number(field: str, heading: str, unit: str, explanation: str, default: str = "") -> ColumnSpec:
    """Give a column of one number."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.NUMBER,
        unit=unit,
        default=default,
        help=explanation,
    )


def _flag(field: str, heading: str, explanation: str) -> ColumnSpec:
    """Give a yes or no column that is no when empty."""
    return ColumnSpec(
        field=field, heading=heading, parse=Parse.YES_NO, default="no", help=explanation
    )


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
        _refs("findings", "findings", "finding", "refs of the findings it is for", "F-001; F-002"),
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
        ColumnSpec(
            field="uplift_basis",
            heading="uplift on",
            parse=Parse.CHOICE,
            choices=tuple(Basis),
            help="which price the uplift speaks of; empty: the same as the terms",
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
        _money("fail_cash", "cash if it fails", "further cash when it fails"),
        _money("fail_uplift", "uplift if it fails", "what is left of the uplift; may be negative"),
        ColumnSpec(
            field="fail_uplift_percent",
            heading="uplift if it fails %",
            parse=Parse.PERCENT,
            unit="percent",
            help="the same in percent of the mean as-is price",
        ),
        _number("extra_days", "extra days", "days", "days by which it delays the sale", "0"),
        _refs("requires", "requires", "candidate", "work that must come first", "C-002"),
        _refs("excludes", "excludes", "candidate", "work it cannot be done with", "C-003"),
        _flag("after_all", "after all other work", "yes for photographs and the like"),
        _number("cure_hours", "cure hours", "clock hours", "drying or hardening afterwards", "0"),
        _flag("cure_keeps_bay", "cure keeps the bay", "yes where the bay is not free meanwhile"),
        _number("delivery_hours", "delivery hours", "clock hours", "wait before it can start", "0"),
        _flag("irreversible", "irreversible", "yes where it cannot be undone"),
        _flag(
            "consent_given", "consent given", "yes where the owner agreed to what is irreversible"
        ),
        _flag("no_touch", "no touch", "yes where it must not be done"),
        ColumnSpec(
            field="state",
            heading="state",
            parse=Parse.CHOICE,
            choices=tuple(CandidateState),
            default="open",
            help="where the work stands",
        ),
        words("left_reason", "left because", "why it is not to be done"),
        to("estimated_by", "estimated by", "person", "initials"),
        ColumnSpec(
            field="estimated_on", heading="estimated on", parse=Parse.DATE, help="which day"
        ),
        words("estimate_ground", "estimate rests on", "sales seen, a quote, your own record"),
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
        ColumnSpec(
            field="items",
            heading="candidates",
            parse=Parse.TO_MANY,
            target="candidate",
            required=True,
            help="refs of two or more pieces of work",
            example="C-001; C-002",
        ),
        _money("delta_uplift", "uplift together", "added to the price on top", required=True),
        words("why", "why", "what it rests on"),
    ),
)


def _tiers(field: str, heading: str, explanation: str) -> ColumnSpec:
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
        ColumnSpec(
            field="basis",
            heading="prices are",
            parse=Parse.CHOICE,
            choices=tuple(Basis),
            required=True,
            help="hammer = the winning bid; all-in = with the buyer's premium on top",
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
        _owed(
            "labour_cost_rate",
            "labour cost rate per hour",
            "what an hour costs the shop in the plan",
            unit="per hour",
            required=True,
        ),
        _owed(
            "charge_out_rate",
            "charge-out rate per hour",
            "what an owner pays for an hour in the plan",
            unit="per hour",
        ),
        _tiers("commission", "seller's commission", "what the seller pays"),
        _tiers("premium", "buyer's premium", "what the buyer pays on top"),
        _owed("fees", "sale fees", "sum of the fixed fees"),
        ColumnSpec(
            field="sells",
            heading="sells",
            parse=Parse.CHOICE,
            choices=tuple(SellsWhen),
            default="fixed day",
            help="on a fixed day, or when it is ready",
        ),
        ColumnSpec(field="sale_day", heading="sale day", parse=Parse.DATE, help="day of the sale"),
        ColumnSpec(
            field="cut_off",
            heading="cut-off",
            parse=Parse.DATE,
            help="the real last day: photographs or catalogue",
        ),
        _owed("holding_per_day", "holding cost per day", "storage, insurance", unit="per day"),
        _owed("cash_limit", "cash limit", "cash that may be spent; empty where there is none"),
        _number("hours_limit", "hours limit", "hours", "hours that may be spent; empty: no limit"),
        _owed("owner_limit", "owner's limit", "what the owner allows to be spent"),
        PRIVATE_NOTE,
    ),
)
