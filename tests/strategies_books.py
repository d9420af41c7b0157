"""Drawn facts of the books: lines, stock, invoices, payments, sales and what was taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st

from recondition.accounts.facts import (
    AccrualFact,
    Facts,
    InvoiceFact,
    LineFact,
    OwnerInvoiceFact,
    PaymentFact,
    SaleFact,
    StockFact,
    Undone,
    ValueFact,
)

if TYPE_CHECKING:
    from collections.abc import Callable

PERIODS = ("2031-01", "2031-02", "2031-03", "2031-04")
OWN, THEIRS = ("a", "b"), ("c",)
NAMES = {"a": "0007", "b": "0008", "c": "0012", "s": "FW"}
MONEY = st.integers(-500_000, 500_000)
POSITIVE = st.integers(0, 500_000)
KINDS = ("labour", "part", "consumable", "sublet", "charge")
PURPOSES = ("reconditioning", "landed", "spoilage", "selling", "holding", "overhead")
ITEMS = (None, "purchase", "sea freight", "photography", "storage")
KEYS = (None, ("s", "1"), ("s", "2"))


def _day(period: str, day: int) -> str:
    return f"{period}-{day:02}"


@st.composite
def line_facts(draw: Callable[..., Any]) -> LineFact:
    """Draw one line; what happened may lie before its period."""
    vehicle = draw(st.sampled_from((*OWN, *THEIRS, None)))
    period = draw(st.sampled_from(PERIODS))
    happened = draw(st.sampled_from([p for p in PERIODS if p <= period]))
    kind = draw(st.sampled_from(KINDS))
    key = draw(st.sampled_from(KEYS)) if kind in ("part", "sublet", "charge") else None
    return LineFact(
        ref=draw(st.text("LX-0123", min_size=1, max_size=6)),
        kind=kind,
        vehicle=vehicle,
        consigned=None if vehicle is None else vehicle in THEIRS,
        purpose=draw(st.sampled_from(PURPOSES)),
        item=draw(st.sampled_from(ITEMS)) if kind == "charge" else None,
        day=_day(period, draw(st.integers(1, 28))),
        happened=_day(happened, draw(st.integers(1, 28))),
        period=period,
        cost=draw(MONEY),
        tax_recovered=draw(st.integers(0, 5_000)) if kind in ("part", "sublet", "charge") else 0,
        billed=draw(st.sampled_from((0, 1_000))) if vehicle in THEIRS else 0,
        invoice=key,
        settled=draw(st.sampled_from((None, "bank", "opening"))) if key is None else None,
        from_stock=kind == "consumable" and draw(st.booleans()),
        supplier=key[0] if key else None,
        number=key[1] if key else None,
    )


@st.composite
def _undone(draw: Callable[..., Any], period: str) -> Undone | None:
    """Draw when something was taken back, if ever."""
    if draw(st.booleans()):
        return None
    later = draw(st.sampled_from([p for p in PERIODS if p >= period]))
    return Undone(period=later, day=_day(later, 28), ref="back")


@st.composite
def _sales_of(draw: Callable[..., Any], vehicle: str) -> list[SaleFact]:
    """Draw the sales of one vehicle: a second one only after the first was taken back."""
    made: list[SaleFact] = []
    first = 0
    for number in range(draw(st.integers(0, 2))):
        place = draw(st.integers(first, len(PERIODS) - 1))
        period = PERIODS[place]
        undone = draw(_undone(period))
        result = draw(st.sampled_from(("sold", "sold", "unsold", "withdrawn")))
        sold = result == "sold"
        made.append(SaleFact(
            ref=f"Y-{vehicle}{number}", vehicle=vehicle, consigned=vehicle in THEIRS, result=result,
            day=_day(period, draw(st.integers(1, 28))), period=period,
            hammer=draw(POSITIVE) if sold else 0, commission=draw(POSITIVE) if sold else 0,
            fees=draw(POSITIVE), shop_commission=draw(POSITIVE) if sold else 0,
            tax=draw(st.integers(0, 9_000)) if sold else 0, tax_on_top=draw(st.booleans()),
            undone=undone,
        ))  # fmt: skip
        if sold and undone is None:
            break
        first = PERIODS.index(undone.period) if sold and undone else place
    return made


@st.composite
def _stock(draw: Callable[..., Any]) -> StockFact:
    """Draw a receipt, or the price difference of an issue."""
    period = draw(st.sampled_from(PERIODS))
    receipt = draw(st.booleans())
    return StockFact(
        ref="RC", what="receipt", day=_day(period, 3), period=period,
        difference=draw(st.integers(-900, 900)), owed=draw(MONEY) if receipt else 0,
        tax_recovered=draw(st.integers(0, 900)) if receipt else 0, invoice=None,
        settled=draw(st.sampled_from((None, "opening"))),
    )  # fmt: skip


@st.composite
def _others(draw: Callable[..., Any]) -> dict[str, Any]:
    """Draw invoices, payments, owners' invoices, value tests and accruals."""
    periods = st.sampled_from(PERIODS)

    def dated() -> dict[str, Any]:
        period = draw(periods)
        return {"period": period, "day": _day(period, draw(st.integers(1, 28)))}

    invoices = []
    for number in draw(st.sets(st.sampled_from(("1", "2")))):
        when = dated()
        invoices.append(InvoiceFact(
            ref=f"SI-{number}", key=("s", number), supplier="s", number=number,
            total=draw(MONEY), before=draw(MONEY), seller=draw(st.booleans()),
            opening=draw(st.booleans()), rounding=draw(st.integers(-2, 2)),
            rounding_period=when["period"], rounding_day=when["day"], other=draw(MONEY),
            undone=draw(_undone(when["period"])), **when,
        ))  # fmt: skip
    payments = [
        PaymentFact(ref="PY", received=draw(st.booleans()), set_off=draw(st.booleans()),
                    proceeds=draw(st.sampled_from((None, "c"))),
                    against="payable", vehicle=draw(st.sampled_from((None, "a", "c"))),
                    settled=draw(POSITIVE), exchange=draw(MONEY), **dated())
        for _ in range(draw(st.integers(0, 2)))
    ]  # fmt: skip
    bills = [
        OwnerInvoiceFact(ref="IV", vehicle="c", tax=draw(st.integers(0, 900)),
                         lines=(("labour", 1000, draw(MONEY)), ("part", 500, 1)), **dated())
        for _ in range(draw(st.integers(0, 1)))
    ]  # fmt: skip
    tests = [
        ValueFact(ref="VT", vehicle="a", change=draw(MONEY), **dated())
        for _ in range(draw(st.integers(0, 1)))
    ]
    accruals = [
        AccrualFact(ref="OR", vehicle=vehicle, consigned=vehicle in THEIRS,
                    happened=_day(period, 9), period=period, amount=draw(POSITIVE))
        for vehicle, period in draw(
            st.sets(st.tuples(st.sampled_from((*OWN, *THEIRS)), periods), max_size=2)
        )
    ]  # fmt: skip
    return {
        "invoices": tuple(invoices), "payments": tuple(payments), "values": tuple(tests),
        "owner_invoices": tuple(bills), "accruals": tuple(accruals),
    }  # fmt: skip


@st.composite
def ledgers(draw: Callable[..., Any]) -> Facts:
    """Draw the facts of four months of a shop with two own cars and an owner's."""
    lines = sorted(draw(st.lists(line_facts(), max_size=12)), key=lambda line: line.period)
    sales = [sale for vehicle in (*OWN, *THEIRS) for sale in draw(_sales_of(vehicle))]
    return Facts(
        lines=lines,
        line_periods=frozenset(line.period for line in lines),
        stock=tuple(draw(st.lists(_stock(), max_size=3))),
        sales=tuple(sales),
        names=NAMES,
        **draw(_others()),
    )
