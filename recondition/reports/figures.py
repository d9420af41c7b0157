"""The pictures of the reports. Every one has a table behind it that says the same.

Amounts become floats here to be drawn, and only here.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from recondition.reports.cells import visible
from recondition.reports.drawing import (
    DARK_END,
    INK,
    LIGHT_END,
    PALE,
    Figure,
    drawing,
    finished,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from recondition.amounts import Money

_LABEL_WIDTH = 19
_LABEL_LINES = 2
_MARKS = {"do": "o", "leave": "s", "ask": "D"}


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar from low to high with its likely value. ``verdict`` is do, leave or ask."""

    label: str
    low: Money
    likely: Money
    high: Money
    verdict: str


@dataclass(frozen=True, slots=True)
class Stair:
    """One step of two staircases: what both have come to once this one is climbed."""

    label: str
    cost_so_far: Money
    uplift_so_far: Money


def bars(items: Sequence[Bar], *, name: str, title: str) -> Figure:
    """Draw low, likely and high of each item around zero, in the order given.

    The mark at the likely value is a disc for do, a square for leave, a diamond for ask;
    the verdict also stands in words beside the item. ``items`` are of one currency and not
    empty (ValueError).
    """
    currency = _one_currency([item.likely for item in items])
    with drawing(0.95 + 0.64 * len(items)) as (canvas, axes):
        for row, item in enumerate(items):
            low, likely, high = map(_drawn, (item.low, item.likely, item.high))
            filled = item.verdict == "do"
            axes.barh(row, high - low, left=low, height=0.34, color=PALE, edgecolor=INK, lw=0.8)
            axes.plot(
                likely,
                row,
                marker=_MARKS[item.verdict],
                markersize=9,
                color=DARK_END if filled else LIGHT_END,
                markeredgecolor=INK,
                clip_on=False,
                linestyle="none",
            )
        axes.axvline(0, color=INK, lw=1.4, zorder=0.5)
        _rows(axes, [f"{_label(item.label)}\n{item.verdict}" for item in items])
        _money_axis(axes, currency)
        _key(axes, [_mark(verdict) for verdict in _MARKS])
        told = "; ".join(
            f"{item.label}: {item.low.grouped} to {item.high.grouped}, likely "
            f"{item.likely.grouped}, {item.verdict}"
            for item in items
        )
        return finished(canvas, name, title, f"Amounts in {currency}. {told}.")


def stairs(steps: Sequence[Stair], *, name: str, title: str) -> Figure:
    """Draw cost against uplift as two staircases, one row a step and a last row for both.

    A bar begins where the one before ended; a step down runs back. ``steps`` are of one
    currency and not empty (ValueError).
    """
    currency = _one_currency([step.cost_so_far for step in steps])
    costs = [0.0, *(_drawn(step.cost_so_far) for step in steps)]
    uplifts = [0.0, *(_drawn(step.uplift_so_far) for step in steps)]
    with drawing(1.25 + 0.46 * (len(steps) + 1)) as (canvas, axes):
        _staircase(axes, costs, -0.19, color=DARK_END, hatch="")
        _staircase(axes, uplifts, 0.19, color=LIGHT_END, hatch="////")
        axes.axvline(0, color=INK, lw=1.2)
        labels = [_label(step.label) for step in steps]
        _rows(axes, [*labels, "all together"])
        axes.axhline(len(steps) - 0.5, color=PALE, lw=0.8)
        last = steps[-1]
        _figure_beside(axes, costs[-1], len(steps) - 0.19, last.cost_so_far)
        _figure_beside(axes, uplifts[-1], len(steps) + 0.19, last.uplift_so_far)
        _money_axis(axes, currency)
        _key(axes, [_swatch("cost", DARK_END, ""), _swatch("expected uplift", LIGHT_END, "////")])
        told = "; ".join(
            f"{step.label}: cost {step.cost_so_far.grouped}, uplift {step.uplift_so_far.grouped}"
            for step in steps
        )
        return finished(canvas, name, title, f"Added up in {currency}. {told}.")


def _staircase(axes: Any, values: list[float], shift: float, **look: str) -> None:  # noqa: ANN401
    """Draw one bar a step from where the last one ended, joined by thin risers."""
    style = {"height": 0.32, "edgecolor": INK, "lw": 0.8, **look}
    for row, (before, after) in enumerate(pairwise(values)):
        axes.barh(row + shift, after - before, left=before, **style)
        axes.plot([after, after], [row + shift, row + 1 + shift], color=INK, lw=0.7, zorder=0.8)
    axes.barh(len(values) - 1 + shift, values[-1], **style)


def _figure_beside(axes: Any, place: float, row: float, money: Money) -> None:  # noqa: ANN401
    side, gap = ("left", 4) if place >= 0 else ("right", -4)
    axes.annotate(
        money.grouped, (place, row), (gap, 0), textcoords="offset points", ha=side, va="center"
    )


def _rows(axes: Any, labels: list[str]) -> None:  # noqa: ANN401
    axes.set_yticks(range(len(labels)), labels, parse_math=False)
    axes.tick_params(axis="y", length=0)
    axes.set_ylim(len(labels) - 0.45, -0.55)
    axes.margins(x=0.16)


def _money_axis(axes: Any, currency: str) -> None:  # noqa: ANN401
    from matplotlib.ticker import FuncFormatter, MaxNLocator  # noqa: PLC0415 - slow to load

    axes.xaxis.set_major_locator(MaxNLocator(4))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}"))
    axes.set_xlabel(currency)


def _key(axes: Any, handles: list[Any]) -> None:  # noqa: ANN401
    axes.figure.legend(
        handles=handles, loc="outside upper left", ncols=3, frameon=False, handletextpad=0.5
    )


def _mark(verdict: str) -> Any:  # noqa: ANN401 - matplotlib has no types
    from matplotlib.lines import Line2D  # noqa: PLC0415 - slow to load

    colour = DARK_END if verdict == "do" else LIGHT_END
    return Line2D(
        [],
        [],
        marker=_MARKS[verdict],
        label=verdict,
        markerfacecolor=colour,
        markeredgecolor=INK,
        linestyle="none",
    )


def _swatch(label: str, colour: str, hatch: str) -> Any:  # noqa: ANN401 - as above
    from matplotlib.patches import Patch  # noqa: PLC0415 - slow to load

    return Patch(facecolor=colour, edgecolor=INK, hatch=hatch, label=label)


def _label(text: str) -> str:
    lines = textwrap.wrap(visible(text), _LABEL_WIDTH, max_lines=_LABEL_LINES, placeholder="\u2026")
    return "\n".join(lines)


def _drawn(money: Money) -> float:
    return float(money.number)


def _one_currency(amounts: list[Money]) -> str:
    (currency,) = {money.currency for money in amounts}
    return currency
