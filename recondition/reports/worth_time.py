"""The plan in time: the timetable with its picture, and the ways to go on."""

from __future__ import annotations

from datetime import datetime, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.amounts.rounding import round_to
from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.worth.advice import Advice, listed
from recondition.worth.ready import clock_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from recondition.reports.drawing import Figure
    from recondition.worth.question import Question
    from recondition.worth.ready import Lying, Readiness

_MOMENT = "%Y-%m-%d %H:%M"


def shown(moment: datetime | None) -> str:
    """Write a moment of the shop's clock; empty where there is none."""
    return "" if moment is None else moment.strftime(_MOMENT)


def in_time(ready: Readiness) -> dict[str, object]:
    """Give the plan in time for machines."""
    return {
        "begin": shown(ready.begin),
        "end": shown(ready.end),
        "last moment": shown(ready.wall),
        "slack hours": "" if ready.slack_hours is None else str(round_to(ready.slack_hours, 2)),
        "clock hours": str(round_to(ready.clock_hours, 2)),
        "critical chain": list(ready.chain),
        "laid out by": ready.rule,
        "case": ready.reading,
        "relax": ready.relax,
    }


def ready_sentence(advice: Advice) -> str:
    """Say whether the plan can be ready, with its slack."""
    ready = advice.ready
    if ready.wall is None:
        return ""
    if not advice.chosen:
        late = [each for each in ready.alternatives if each.items]
        return f"Nothing is planned before {shown(ready.wall)}." if late else ""
    slack = ready.slack_hours or Fraction(0)
    return f"It is ready on {shown(ready.end)}, {clock_words(slack)} before the last moment."


def timetable(advice: Advice, question: Question) -> Table:
    """One row a piece of work of the plan: who, when, and whether it sets the end."""
    ready = advice.ready
    rows = [
        (
            each.ref,
            question.candidates[each.item].name,
            each.who or ("anybody" if each.start != each.end else "nobody"),
            shown(each.start),
            shown(each.end),
            shown(each.ready) if each.ready != each.end else "",
            "yes" if each.chain else "",
        )
        for each in ready.lying
    ]
    return Table(
        title="Ready or not",
        columns=(
            Column("ref", "Work"),
            Column("name", "What it is"),
            Column("who", "Who"),
            Column("start", "Starts"),
            Column("end", "Work ends"),
            Column("cure", "Cure over"),
            Column("chain", "Sets the end"),
        ),
        rows=tuple(rows),
        note=_note(ready),
    )


def _note(ready: Readiness) -> str:
    words = [
        (
            f"Laid out from {shown(ready.begin)} by the {ready.rule}, hours at the "
            f"{ready.reading} case; cures and deliveries run by the clock."
        )
    ]
    waits = [each.ref for each in ready.lying if each.ordered is not None]
    if waits:
        words.append(f"Order at the beginning: {listed(waits)}.")
    if ready.chain:
        words.append(f"A delay of {listed(list(ready.chain))} delays the end.")
    if ready.wall is not None:
        words.append(f"The last moment is {shown(ready.wall)}.")
    if ready.relax:
        words.append(ready.relax)
    return " ".join(words)


def ways(advice: Advice, question: Question) -> Table:
    """Set the plan beside the other ways to go on."""
    rows: list[tuple[Cell, ...]] = []
    for each in advice.ready.alternatives:
        names = listed([question.ref(item) for item in each.items]) if each.items else "nothing"
        rows.append((each.name, names, each.net, shown(each.end), each.why))
    return Table(
        title="Ways to go on",
        columns=(
            Column("way", "Way"),
            Column("items", "Work in it"),
            Column("net", "Expected net", CellKind.MONEY),
            Column("end", "Ready"),
            Column("why", "How it comes about"),
        ),
        rows=tuple(rows),
    )


def timeline(advice: Advice, question: Question, name: str) -> Figure | None:
    """Draw the plan up to the last moment; None where nothing is planned."""
    from recondition.reports.drawing import (  # noqa: PLC0415 - slow
        DARK_END,
        INK,
        LIGHT_END,
        PALE,
        drawing,
        finished,
    )

    lying = advice.ready.lying
    if not lying:
        return None
    begin = advice.ready.begin
    with drawing(1.15 + 0.46 * len(lying)) as (canvas, axes):
        for row, each in enumerate(lying):
            start, end, over = (_hours(begin, m) for m in (each.start, each.end, each.ready))
            if each.ordered is not None:
                axes.plot([0, start], [row, row], color=INK, lw=1, linestyle=":")
            axes.barh(row, max(end - start, 0.4), left=start, height=0.5,
                      color=DARK_END if each.chain else PALE, edgecolor=INK, lw=0.8)  # fmt: skip
            if over > end:
                axes.barh(row, over - end, left=end, height=0.22, color=LIGHT_END,
                          edgecolor=INK, lw=0.8, hatch="////")  # fmt: skip
        wall = advice.ready.wall
        far = max(_hours(begin, each.ready) for each in lying)
        if wall is not None:
            at = _hours(begin, wall)
            if at <= far * 2.5:
                axes.axvline(at, color=INK, lw=1.6)
                axes.annotate("last moment", (at, -0.62), (-4, 0), textcoords="offset points",
                              ha="right", va="bottom")  # fmt: skip
                far = max(far, at)
            else:
                last = wall - timedelta(minutes=1)
                axes.annotate(
                    f"last day {last:%d %b} \u2192",
                    (1, 1),
                    (0, -2),
                    xycoords="axes fraction",
                    textcoords="offset points",
                    ha="right",
                    va="bottom",
                )
        _axes(axes, lying, question, begin, far)
        _legend(axes)
        told = "; ".join(
            f"{each.ref} from {shown(each.start)} to {shown(each.end)}"
            + (f", cure until {shown(each.ready)}" if each.ready > each.end else "")
            for each in lying
        )
        return finished(canvas, name, "The plan in time", f"{told}.")


def _axes(
    axes: object, lying: Sequence[Lying], question: Question, begin: datetime, far: float
    ) -> None:  # fmt: skip
    import textwrap  # noqa: PLC0415 - only here

    labels = [
        "\n".join(textwrap.wrap(f"{e.ref} {question.candidates[e.item].name}", 21, max_lines=2,
                                placeholder="\u2026"))
        for e in lying
    ]  # fmt: skip
    axes.set_yticks(range(len(lying)), labels, parse_math=False)  # type: ignore[attr-defined]
    axes.tick_params(axis="y", length=0)  # type: ignore[attr-defined]
    axes.set_ylim(len(lying) - 0.45, -0.75)  # type: ignore[attr-defined]
    axes.set_xlim(0, far * 1.04)  # type: ignore[attr-defined]
    count = max(int(far // 24), 1)
    step = max(-(-count // 4), 1)
    first = datetime.combine(begin.date(), datetime.min.time()) + timedelta(days=1)
    ticks = [first + timedelta(days=step * number) for number in range(count // step + 1)]
    inside = [tick for tick in ticks if _hours(begin, tick) <= far]
    axes.set_xticks(  # type: ignore[attr-defined]
        [_hours(begin, tick) for tick in inside], [f"{tick:%d %b}" for tick in inside]
    )


def _legend(axes: object) -> None:
    from matplotlib.patches import Patch  # noqa: PLC0415 - slow

    from recondition.reports.drawing import DARK_END, INK, LIGHT_END, PALE  # noqa: PLC0415

    handles = [
        Patch(facecolor=DARK_END, edgecolor=INK, label="sets the end"),
        Patch(facecolor=PALE, edgecolor=INK, label="work"),
        Patch(facecolor=LIGHT_END, edgecolor=INK, hatch="////", label="cure"),
    ]
    axes.figure.legend(  # type: ignore[attr-defined]
        handles=handles, loc="outside upper left", ncols=3, frameon=False, handletextpad=0.5
    )


def _hours(begin: datetime, moment: datetime) -> float:
    return (moment - begin).total_seconds() / 3600
