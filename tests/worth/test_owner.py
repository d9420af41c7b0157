"""An owner's limit against billed, committed and still to come. Figures are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Money, Quantity
from recondition.fields import Id, Words
from recondition.ledger.approvals import Answer, Approval, How
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Entered, Labour
from recondition.ledger.orders import Order, Ordered
from recondition.worth.estimates import CandidateState
from recondition.worth.owner import (
    Item,
    Job,
    LimitPassed,
    NotApproved,
    billed_lines,
    check_line_of,
    check_running,
    running,
)
from tests.lines import CONSIGNED, charge, common, labour, posted, taken_back

DAY = date(2031, 3, 12)


def usd(number: str) -> Money:
    return Money.of(number, "USD")


def stored(kind: str, ref: str, entry: Any) -> Stored[Any]:
    return Stored(
        id=ref, record=ref, ref=ref, kind=kind, version=1, subject="vehicle:v", sequence=1,
        author="p1", recorded_at="2031-03-12T09:00:00+00:00", entry=entry,
    )  # fmt: skip


def allowed(ref: str, *items: str, limit: str | None = None, **more: Any) -> Stored[Approval]:
    fields = {"answered_on": DAY, "amount": usd("1500")} | more
    entry = Approval(
        vehicle=CONSIGNED, candidates=tuple(Id(item) for item in items), how=How.MESSAGE,
        by=Id("owner"), limit=usd(limit) if limit else None, **fields,
    )  # fmt: skip
    return stored("approval", ref, entry)


def on_order(ref: str, quoted: str, candidate: str | None = None, **more: Any) -> Stored[Order]:
    fields: dict[str, Any] = {"ordered_on": DAY, "what": Ordered.SUBLET} | more
    entry = Order(
        vehicle=CONSIGNED, name=Words("bumpers"), quantity=Quantity.of(1, "piece"),
        quoted=usd(quoted), candidate=Id(candidate) if candidate else None, **fields,
    )  # fmt: skip
    return stored("order", ref, entry)


def bill(amount: str, candidate: str | None = "c1", **more: Any) -> tuple[Entered, Money]:
    made = Id(candidate) if candidate else None
    entry = charge(amount, **(common(CONSIGNED, ("f1",)) | {"candidate": made} | more))
    return entry, usd(amount)


def job(**more: Any) -> Job:
    fields: dict[str, Any] = {
        "lines": (), "orders": (), "approvals": (allowed("AP-1", "c1", limit="2200"),),
        "estimates": {"c1": Fraction(1000), "c2": Fraction(700)}, "states": {},
        "terms_limit": usd("4500"), "currency": "USD",
    }  # fmt: skip
    return Job(**(fields | more))


def test_the_running_figure() -> None:
    found = running(
        job(
            lines=(bill("300"), bill("50", None)),
            orders=(on_order("OR-1", "240", "c1"),),
        )
    )
    assert (found.billed, found.committed, found.to_come) == (usd("350"), usd("240"), usd("460"))
    assert (found.total, found.left) == (usd("1050"), usd("1150"))
    assert found.limit_from == "approval AP-1"
    (item,) = found.items
    assert item == Item(
        candidate="c1", answer=Answer.APPROVED, estimate=usd("1000"), billed=usd("300"),
        committed=usd("240"), to_come=usd("460"),
    )  # fmt: skip


def test_only_approved_work_that_is_not_done_is_still_to_come() -> None:
    assert running(job(approvals=())).to_come == usd("0")
    assert running(job(states={"c1": CandidateState.DONE})).to_come == usd("0")
    no = (*job().approvals, allowed("AP-2", "c1", answer=Answer.DECLINED))
    assert running(job(approvals=no)).to_come == usd("0")
    over = job(lines=(bill("1400"),))
    assert running(over).to_come == usd("0")


def test_without_an_estimate_the_approved_amount_counts() -> None:
    found = running(job(estimates={}, approvals=(allowed("AP-1", "c1", "c2"),)))
    assert found.to_come == usd("1500")
    early = allowed("AP-2", "c1", answered_on=date(2031, 3, 1), amount=usd("100"))
    posted_late = job(estimates={}, approvals=(allowed("AP-1", "c1"), early))
    assert running(posted_late).to_come == usd("1500")


def test_the_newest_limit_counts_also_on_the_same_day() -> None:
    two = (allowed("AP-1", "c1", limit="1000"), allowed("AP-2", "c2", limit="1500"))
    assert running(job(approvals=two)).limit == usd("1500")
    older = (*two, allowed("AP-3", "c2", limit="900", answered_on=date(2031, 3, 1)))
    assert running(job(approvals=older)).limit == usd("1500")
    assert running(job(approvals=())).limit == usd("4500")
    nothing = running(job(approvals=(), terms_limit=None))
    assert (nothing.limit, nothing.left) == (None, None)


def test_an_order_is_committed_until_it_is_billed() -> None:
    def committed(*lines: tuple[Entered, Money], **more: Any) -> Money:
        return running(job(lines=lines, orders=(on_order("OR-1", "500", "c1", **more),))).committed

    assert committed() == usd("500")
    assert committed(bill("200", order=Id("OR-1"))) == usd("300")
    assert committed(bill("600", order=Id("OR-1"))) == usd("0")
    assert committed(returned_on=DAY) == usd("0")
    assert committed(ordered_on=None) == usd("0")
    handling: tuple[Labour, Money] = (labour("2", vehicle=CONSIGNED, order=Id("OR-1")), usd("190"))
    assert committed(handling) == usd("500")


def test_a_line_from_an_order_counts_for_the_work_of_that_order() -> None:
    found = running(
        job(
            lines=(bill("500", None, order=Id("OR-1")),), orders=(on_order("OR-1", "500", "c1"),)
        )
    )  # fmt: skip
    assert (found.billed, found.committed, found.to_come) == (usd("500"), usd("0"), usd("500"))


def test_a_reversal_is_off_the_bill() -> None:
    line = posted(1, labour("2", vehicle=CONSIGNED))
    entries = billed_lines([line, taken_back(2, line)])
    assert [money for _, money in entries] == [usd("190"), usd("-190")]
    assert running(job(lines=entries)).billed == usd("0")


def test_a_line_within_its_estimate_passes_and_one_past_the_limit_does_not() -> None:
    tight = job(approvals=(allowed("AP-1", "c1", limit="1000"),))
    check_line_of(tight, *bill("1000"), "C-001")
    with pytest.raises(LimitPassed, match=r"1000\.00 would be passed by 0\.01"):
        check_line_of(tight, *bill("1000.01"), "C-001")
    with pytest.raises(LimitPassed, match=r"passed by 10\.00.*still to come 1000\.00"):
        check_line_of(tight, *bill("10", None), "")


def test_estimates_past_the_limit_do_not_stop_work_within_them_until_it_is_billed() -> None:
    tight = job(approvals=(allowed("AP-1", "c1", limit="600"),))
    check_line_of(tight, *bill("600"), "C-001")
    with pytest.raises(LimitPassed):
        check_line_of(replace(tight, lines=(bill("600"),)), *bill("1"), "C-001")


def test_unapproved_and_declined_work_is_not_billed() -> None:
    with pytest.raises(NotApproved, match="C-002 was not approved"):
        check_line_of(job(), *bill("10", "c2"), "C-002")
    no = (*job().approvals, allowed("AP-2", "c2", answer=Answer.DECLINED))
    with pytest.raises(NotApproved, match="was declined"):
        check_line_of(job(approvals=no), *bill("10", "c2"), "C-002")
    entry, _ = bill("10", "c2")
    check_line_of(job(), entry, usd("0"), "C-002")
    check_line_of(job(approvals=()), *bill("10", "c2"), "C-002")
    by_order = job(orders=(on_order("OR-1", "10", "c2"),))
    with pytest.raises(NotApproved, match="C-002 was not approved"):
        check_line_of(by_order, *bill("10", None, order=Id("OR-1")), "C-002")


@given(
    st.lists(st.tuples(st.integers(1, 90_000), st.sampled_from(["c1", "c2", None])), max_size=6),
    st.integers(0, 90_000), st.integers(0, 200_000),
)  # fmt: skip
def test_the_figure_is_the_sum_of_its_parts_and_nothing_is_below_zero(
    bills: list[tuple[int, str | None]], quoted: int, limit: int
) -> None:
    lines = tuple(bill(f"{minor // 100}.{minor % 100:02}", named) for minor, named in bills)
    orders = (on_order("OR-1", f"{quoted // 100}.{quoted % 100:02}", "c2"),)
    most = f"{limit // 100}.{limit % 100:02}"
    approvals = (allowed("AP-1", "c1", "c2", limit=most),)
    found = running(job(lines=lines, orders=orders, approvals=approvals))
    assert found.total == found.billed + found.committed + found.to_come
    assert min(found.billed.minor, found.committed.minor, found.to_come.minor) >= 0
    assert sum(item.to_come.minor for item in found.items) == found.to_come.minor
    check_running(found, found)  # what does not grow is never refused
