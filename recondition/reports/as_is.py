"""What a vehicle may fetch as it stands, from sales the user brought."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from recondition.reports.table import CellKind, Column, Table
from recondition.worth.comparables import Estimate

_NUMBER = CellKind.NUMBER


def tables(found: Estimate, terms: Sequence[str]) -> list[Table]:
    """Give the estimate with its intervals, and what each term does to the price."""
    ends = (found.low_95, found.low_80, found.middle, found.high_80, found.high_95)
    named = ("95 in 100 above", "80 in 100 from", "Middle", "80 in 100 to", "95 in 100 to")
    price = Table(
        title=f"Price as it stands, {found.currency} of {found.base_year}, {found.basis}",
        columns=tuple(
            Column(key, heading, _NUMBER)
            for key, heading in zip(("low_95", "low_80", "middle", "high_80", "high_95"), named,
                                    strict=True)
        ),
        rows=(tuple(_whole(end) for end in ends),),
        note=_note(found, terms),
    )  # fmt: skip
    effects = Table(
        title="What each term does to the price",
        columns=(
            Column("term", "One more of"),
            Column("percent", "Changes the price by, %", _NUMBER),
            Column("error", "Standard error, %", _NUMBER),
        ),
        rows=tuple(
            (term, _two_figures(slope), _two_figures(error)) for term, slope, error in found.effects
        ),
        note="yes counts 1 and no 0. Effects are of this table of sales, not of the work.",
    )
    return [price, effects] if found.effects else [price]


def _note(found: Estimate, terms: Sequence[str]) -> str:
    shrunk = (
        f" Terms are shrunk (ridge {found.shrink:g}), since the sales are few."
        if found.shrink
        else ""
    )
    dated = "" if "sold" in terms else " Prices of other years stand as they were paid."
    return (
        f"n = {found.count} sales; leave-one-out error {found.loo_percent:.0f} %; R squared "
        f"{found.r_squared:.2f}. Intervals are of one sale, by {found.rule}.{shrunk}{dated} Enter "
        "low, likely and high into the terms yourself if you believe them."
    )


def _whole(number: float) -> Decimal:
    """Give a price with three figures that count; more would be made up."""
    digits = Decimal(number)
    places = digits.adjusted() - 2
    return (
        Decimal(int(digits.scaleb(-places).to_integral_value())).scaleb(places).quantize(Decimal(1))
    )


def _two_figures(number: float) -> Decimal:
    """Give a percentage with two figures that count, as a plain decimal."""
    return Decimal(f"{Decimal(f'{number:.2g}'):f}")
