"""From the coarsest mark to the finish wanted: which abrasive grades, in which order.

Grain sizes are the published means (macrogrit) and medians (microgrit) of two series that
must not be mixed: FEPA P (ISO 6344; P12 to P2500) and the US series (CAMI, ANSI B74.18);
source stusshed.wordpress.com/2008/03/24, the coarse end again in sizes.com/tools/sandpaper.
P3000, P4000 and P5000 have no published median that was found: there the ratio of the grade
numbers stands in, and the answer says so.

A step is too wide where the coarser grain is more than the bound times the finer. The bound
of 2 takes in 1000-2000-3000-4000-5000 and refuses 600-4000, as the trade does (common
practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from types import MappingProxyType

from recondition.errors import Refused

STEP_MAX = Fraction(2)

_P = (
    "12 1815, 16 1324, 20 1000, 24 764, 30 642, 36 538, 40 425, 50 336, 60 269, 80 201, 100 162, "
    "120 125, 150 100, 180 82, 220 68, 240 58.5, 280 52.2, 320 46.2, 360 40.5, 400 35.0, "
    "500 30.2, 600 25.8, 800 21.8, 1000 18.3, 1200 15.3, 1500 12.6, 2000 10.3, 2500 8.4, "
    "3000 -, 4000 -, 5000 -"
)
_US = (
    "24 708, 30 632, 36 530, 40 425, 50 348, 60 265, 80 190, 100 140, 120 115, 150 92, 180 82, "
    "220 68, 240 53.0, 320 36.0, 360 28.0, 400 23.0, 500 20.0, 600 16.0, 800 12.6, 1000 10.3"
)


@dataclass(frozen=True, slots=True)
class Grade:
    """One abrasive grade: ``P1000`` or ``US 1000``, and its grain in micrometres if known."""

    series: str
    number: int
    grain_um: Decimal | None

    @property
    def name(self) -> str:
        """The grade as it is written on the back of the paper, with its series."""
        return f"P{self.number}" if self.series == "P" else f"US {self.number}"


def _read(series: str, text: str) -> dict[int, Grade]:
    """Read a series from its table."""
    rows = (row.split() for row in text.split(","))
    return {
        int(number): Grade(series, int(number), None if grain == "-" else Decimal(grain))
        for number, grain in rows
    }


SERIES = MappingProxyType({"P": _read("P", _P), "US": _read("US", _US)})
"""Both series by number, coarsest first."""

_NAME = re.compile(r"(?P<series>p|us|cami)?[\s-]*(?P<number>\d{2,4})", re.IGNORECASE)


class GradeNotNamed(Refused):
    """A grade without its series, which may be either of two papers."""

    def __init__(self, number: int) -> None:
        """Show both grains, where both have one."""
        found = [SERIES[series].get(number) for series in SERIES]
        known = [f"{g.name} has {g.grain_um} um" for g in found if g is not None and g.grain_um]
        both = f" ({', '.join(known)})" if known else ""
        super().__init__(
            f"{number} names no series{both}",
            todo=f"Write P{number} for the European series or US {number} for the American one.",
        )


class NoSuchGrade(Refused):
    """A grade that its series does not have."""

    def __init__(self, typed: str) -> None:
        """Show it and list what there is."""
        names = ", ".join(grade.name for grade in SERIES["P"].values())
        super().__init__(
            f"{typed!r} is no abrasive grade that is known",
            todo=f"Write one of {names}, or of the US series from US 24 to US 1000.",
        )


class SeriesMixed(Refused):
    """Grades of both series in one ladder."""

    def __init__(self, one: Grade, other: Grade) -> None:
        """Name one of each."""
        super().__init__(
            f"{one.name} and {other.name} are of different series",
            todo="Keep to one series: the same number is another grain in the other.",
        )


class NotFiner(Refused):
    """A ladder that does not go from coarse to fine."""

    def __init__(self, one: Grade, other: Grade) -> None:
        """Name the step."""
        super().__init__(
            f"{other.name} is not finer than {one.name}", todo="Go from coarse to fine."
        )


class StepTooWide(Refused):
    """A step between two grades that would leave the marks of the first."""

    def __init__(self, one: Grade, other: Grade, ratio: Fraction, finer: Sequence[Grade]) -> None:
        """Say how wide it is, on which figures, and what lies between."""
        how = (
            f"{one.grain_um} um of grain against {other.grain_um} um"
            if one.grain_um and other.grain_um
            else "by grade numbers, since no grain size is published for both"
        )
        between = ", ".join(grade.name for grade in finer)
        super().__init__(
            f"{one.name} to {other.name} is too wide a step: {_times(ratio)} times, {how}; more "
            f"than {_times(STEP_MAX)} leaves marks that show again after finishing",
            todo=f"Go through {between}." if between else "Use a grade between them.",
        )


def grade(typed: str) -> Grade:
    """Read a grade with its series. Raises GradeNotNamed, NoSuchGrade."""
    match = _NAME.fullmatch(typed.strip())
    if match is None:
        raise NoSuchGrade(typed)
    number = int(match["number"])
    if match["series"] is None:
        raise GradeNotNamed(number)
    series = "P" if match["series"].upper() == "P" else "US"
    found = SERIES[series].get(number)
    if found is None:
        raise NoSuchGrade(typed)
    return found


def ratio(coarse: Grade, fine: Grade) -> Fraction:
    """Give how many times coarser one grade is: by grain, or by number where none is known."""
    if coarse.grain_um is not None and fine.grain_um is not None:
        return Fraction(coarse.grain_um) / Fraction(fine.grain_um)
    return Fraction(fine.number, coarse.number)


def check_ladder(grades: Sequence[Grade]) -> None:
    """Refuse a ladder with a step too wide. Raises SeriesMixed, NotFiner, StepTooWide."""
    for one, other in pairwise(grades):
        if one.series != other.series:
            raise SeriesMixed(one, other)
        wide = ratio(one, other)
        if wide <= 1:
            raise NotFiner(one, other)
        if wide > STEP_MAX:
            raise StepTooWide(one, other, wide, _between(one, other))


def ladder(mark: Grade, finish: Grade, have: Iterable[Grade] = ()) -> tuple[Grade, ...]:
    """Give the grades from a mark to a finish in the fewest steps, the most even of those.

    ``have`` are the papers at hand; without any, the whole series is. The mark's own grade
    stands first. Raises SeriesMixed, NotFiner, StepTooWide.
    """
    if mark.series != finish.series:
        raise SeriesMixed(mark, finish)
    if ratio(mark, finish) <= 1:
        raise NotFiner(mark, finish)
    stock = list(have)
    for other in stock:
        if other.series != mark.series:
            raise SeriesMixed(mark, other)
    papers = {g.number: g for g in (stock or SERIES[mark.series].values())}
    papers |= {mark.number: mark, finish.number: finish}
    steps = [papers[n] for n in sorted(papers) if mark.number <= n <= finish.number]
    found = _fewest(steps)
    return found if found is not None else _refuse_gap(steps)


def _fewest(steps: Sequence[Grade]) -> tuple[Grade, ...] | None:
    """Give the way from the first grade to the last in the fewest steps that are allowed."""
    best: dict[int, tuple[int, Fraction, tuple[Grade, ...]]] = {
        steps[0].number: (0, Fraction(1), (steps[0],))
    }
    for at in steps[1:]:
        ways = [
            (count + 1, max(widest, ratio(way[-1], at)), (*way, at))
            for count, widest, way in best.values()
            if ratio(way[-1], at) <= STEP_MAX
        ]
        if ways:
            best[at.number] = min(ways, key=lambda way: way[:2])
    last = best.get(steps[-1].number)
    return last[2] if last else None


def _refuse_gap(steps: Sequence[Grade]) -> tuple[Grade, ...]:
    """Name the gap among the papers at hand that no step can pass."""
    for one, other in pairwise(steps):
        wide = ratio(one, other)
        if wide > STEP_MAX:
            raise StepTooWide(one, other, wide, _between(one, other))
    message = "a ladder without a gap has a way"
    raise AssertionError(message)


def _between(one: Grade, other: Grade) -> tuple[Grade, ...]:
    """Give grades of the series that part a step in the fewest that are allowed."""
    numbers = SERIES[one.series].values()
    way = _fewest([g for g in numbers if one.number <= g.number <= other.number])
    return way[1:-1] if way else ()


def _times(value: Fraction) -> str:
    """Write a ratio to two places without trailing zeros."""
    return f"{Decimal(value.numerator) / Decimal(value.denominator):.2f}".rstrip("0").rstrip(".")
