"""What stands behind the advice: what would change it, how it may end, tests, the record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from recondition.amounts import Money
from recondition.amounts.rounding import round_to
from recondition.ledger.codec import plain_number
from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.worth.advice import Advice, Flip, Verdict
from recondition.worth.estimates import Candidate, ThreeAmounts, ThreeNumbers
from recondition.worth.question import Question
from recondition.worth.sales import Comparable, PriceIs
from recondition.worth.track import Bias, Met
from recondition.worth.trials import TrialWorth

_MONEY, _PERCENT = CellKind.MONEY, CellKind.PERCENT


def flips(advice: Advice, indifference: Money) -> Table:
    """One row an item: where the advice on it turns, but for an ``indifference``."""
    rows: list[tuple[Cell, ...]] = []
    for item in advice.items:
        flip = item.figures.flip if item.figures is not None else None
        if flip is None or item.figures is None:
            continue
        inside = item.verdict is not Verdict.LEAVE
        rows.append(
            (
                item.ref,
                "in the plan" if inside else "left",
                item.figures.cost.mean,
                flip.cost,
                item.figures.uplift.mean,
                flip.uplift,
                _proof(flip),
            )
        )
    near = (
        f" Where the plans with and without it are within {indifference.grouped} of each other, "
        "the one that touches less is taken."
        if indifference.minor
        else ""
    )
    return Table(
        title="What would change this advice",
        columns=(
            Column("ref", "Work"),
            Column("now", "Now"),
            Column("cost", "Expected cost", _MONEY),
            Column("cost_turn", "Worth it below", _MONEY),
            Column("uplift", "Expected to add", _MONEY),
            Column("uplift_turn", "Worth it above", _MONEY),
            Column("proof", "Known"),
        ),
        rows=tuple(rows),
        note=(
            f"Below that cost, or above that addition to the {advice.basis} price, the work "
            "belongs in the plan, all else as it is. No figure: no cost would do." + near
        ),
    )


def _proof(flip: Flip) -> str:
    return "proven" if flip.proven else f"within {flip.within.grouped}"


def inputs(question: Question, names: Mapping[str, str]) -> Table:
    """One row an item: the user's own estimates that every figure rests on."""
    rows = []
    for item in question.in_order():
        each = question.candidates[item]
        uplift = each.uplift or each.uplift_percent
        by = names.get(each.estimated_by or "", "")
        rows.append(
            (
                question.ref(item),
                _points(each.hours),
                _points(each.cash),
                _points(uplift) + (" %" if each.uplift_percent else "") if uplift else "",
                each.p_success,
                _failing(each),
                by,
                each.estimated_on,
                each.estimate_ground or "",
            )
        )
    return Table(
        title="What it rests on",
        columns=(
            Column("ref", "Work"),
            Column("hours", "Hours"),
            Column("cash", "Cash"),
            Column("uplift", "Uplift"),
            Column("chance", "Chance", _PERCENT),
            Column("failing", "If it fails: cash, uplift"),
            Column("by", "By"),
            Column("on", "On", CellKind.DATE),
            Column("ground", "Ground"),
        ),
        rows=tuple(rows),
        note="Low / likely / high, as entered; of work under way only what posted lines have not "
        "taken is weighed.",
    )


def _points(three: ThreeAmounts | ThreeNumbers) -> str:
    if isinstance(three, ThreeAmounts):
        return " / ".join(point.grouped for point in (three.low, three.likely, three.high))
    return " / ".join(plain_number(point) for point in (three.low, three.likely, three.high))


def _failing(each: Candidate) -> str:
    if each.p_success == 1:
        return ""
    cash = each.fail_cash.grouped if each.fail_cash else "0"
    left = each.fail_uplift.grouped if each.fail_uplift else "0"
    if each.fail_uplift_percent is not None:
        left = f"{plain_number(each.fail_uplift_percent)} %"
    return f"{cash}, {left}"


def risk(advice: Advice) -> Table:
    """Say how the plan may end, against leaving the vehicle alone."""
    found = advice.risk
    chance = round_to(found.chance_worse, 3)
    return Table(
        title="How it may end",
        columns=(
            Column("what", "What"),
            Column("worse", "Ends worse than leaving it", _PERCENT),
            Column("worst", "Worst reasonable net", _MONEY),
            Column("middle", "Middle net", _MONEY),
            Column("mean", "Mean net", _MONEY),
            Column("best", "Best reasonable net", _MONEY),
        ),
        rows=(("the plan", chance, found.worst, found.middle, found.mean, found.best),),
        note=(
            f"{found.draws:,} draws, seed {found.seed}; uplifts move together as one market does, "
            "costs each on their own. Worst and best reasonable: 5 and 95 in 100 end below. "
            "Chances are shown; they never choose."
        ),
    )


def trials(found: Sequence[tuple[str, str, TrialWorth]]) -> Table:
    """One row a test: what it is worth before committing; ``found`` is by ref and name."""
    rows = tuple(
        (
            ref,
            name,
            w.net_if_good,
            w.net_if_bad,
            w.untested,
            w.test_cost,
            w.tested,
            w.value,
            w.advice,
        )
        for ref, name, w in found
    )
    return Table(
        title="Test first",
        columns=(
            Column("ref", "Test"),
            Column("name", "What is tested"),
            Column("good", "Net if it turns out well", _MONEY),
            Column("bad", "Net if badly", _MONEY),
            Column("untested", "Net untested", _MONEY),
            Column("cost", "Test costs", _MONEY),
            Column("tested", "Net with the test", _MONEY),
            Column("value", "Test is worth", _MONEY),
            Column("advice", "Advice"),
        ),
        rows=rows,
        note="Worth is the net with the test less the better of doing it untested and leaving it.",
    )


def organiser(sales: Iterable[tuple[str, Comparable]]) -> Table:
    """List estimates that a sale's organiser printed, as what they are."""
    rows = tuple(
        (ref, each.what, each.estimate_low, each.estimate_high, each.price, each.source or "")
        for ref, each in sales
        if each.price_is is PriceIs.ESTIMATE
    )
    return Table(
        title="Estimates printed by an organiser",
        columns=(
            Column("ref", "Ref"),
            Column("what", "Of what"),
            Column("low", "Low", _MONEY),
            Column("high", "High", _MONEY),
            Column("price", "Fetched", _MONEY),
            Column("source", "Where it stands"),
        ),
        rows=rows,
        note="They forecast no hammer and take no part in the estimate above.",
    )


def record(met: Sequence[Met], biases: Sequence[Bias], names: Mapping[str, str]) -> list[Table]:
    """Give decisions as they met what happened, and the bias by whom."""
    rows: list[tuple[Cell, ...]] = [
        (
            names.get(each.vehicle, each.vehicle),
            each.what,
            each.low,
            each.expected,
            each.high,
            each.actual,
            {None: "", True: "yes", False: "no"}[each.inside],
            each.off_by,
        )
        for each in met
    ]
    found = Table(
        title="Estimates against what happened",
        columns=(
            Column("vehicle", "Vehicle"),
            Column("what", "What"),
            Column("low", "Low", _MONEY),
            Column("expected", "Expected", _MONEY),
            Column("high", "High", _MONEY),
            Column("actual", "Actual", _MONEY),
            Column("inside", "Between low and high"),
            Column("off", "Actual less expected", _MONEY),
        ),
        rows=tuple(rows),
        note="Each decision as it was frozen; actual cost is what posted lines came to.",
    )
    bias = Table(
        title="How estimates turned out",
        columns=(
            Column("who", "Estimated by"),
            Column("what", "What"),
            Column("count", "Decisions", CellKind.INTEGER),
            Column("inside", "Between low and high", CellKind.INTEGER),
            Column("factor", "Actual to expected", CellKind.NUMBER),
            Column("used", "Correction", CellKind.NUMBER),
        ),
        rows=tuple(
            (
                names.get(b.who, b.who) or "all together",
                b.what,
                b.count,
                b.inside,
                round_to(b.factor, 2),
                round_to(b.correction, 2),
            )
            for b in biases
        ),
        note=(
            "The correction is pulled towards 1 as if five more decisions had been right; "
            "'plan --corrected' uses it."
        ),
    )
    return [found, bias]
