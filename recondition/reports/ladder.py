"""The abrasive ladder as a table: grades, grain, how wide each step is, film it takes."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from itertools import pairwise

from recondition.condition.abrasives import Grade, check_ladder, grade, ladder, ratio
from recondition.condition.film import Headroom, NoHeadroom, shown
from recondition.errors import Refused
from recondition.reports.table import Cell, CellKind, Column, Table

_HUNDREDTH = Decimal("0.01")


class TakesNotClear(Refused):
    """Film that steps take, written in a way that fits no ladder."""

    exit_status = 2

    def __init__(self, typed: str, steps: int) -> None:
        """Show it, and how many steps there are."""
        super().__init__(
            f"{typed!r} does not say what each of {steps} steps takes",
            todo="Give one figure in um for every step, or one for each: 3,2,1.5.",
        )


def ladder_tables(asked: Mapping[str, str | None], room: Headroom | str | None) -> list[Table]:
    """Give the ladder. Raises what ``condition.abrasives`` names, TakesNotClear, NoHeadroom."""
    mark, finish = grade(str(asked["mark"])), grade(str(asked["finish"]))
    if asked["through"]:
        steps: tuple[Grade, ...] = (mark, *_grades(asked["through"]), finish)
        check_ladder(steps)
    else:
        steps = ladder(mark, finish, _grades(asked["have"]))
    takes = _takes(asked["takes"], len(steps) - 1)
    rows: list[tuple[Cell, ...]] = [(mark.name, mark.grain_um, None, "mark to take out", None)]
    for (coarse, fine), taken in zip(pairwise(steps), takes, strict=True):
        wide = ratio(coarse, fine)
        times = (Decimal(wide.numerator) / Decimal(wide.denominator)).quantize(_HUNDREDTH)
        known = fine.grain_um is not None and coarse.grain_um is not None
        on = "published grain" if known else "grade numbers"
        rows.append((fine.name, fine.grain_um, times, on, taken))
    given = [each for each in takes if each is not None]
    total = sum(given, Decimal(0)) if given else None
    columns = (
        Column("grade", "Grade"),
        Column("grain", "Grain, um", CellKind.NUMBER),
        Column("step", "Step, times", CellKind.NUMBER),
        Column("on", "By"),
        Column("takes", "Takes, um", CellKind.NUMBER),
    )
    last = ("Together", None, None, "", total) if total is not None else None
    table = Table("Abrasive ladder", columns, tuple(rows), _note(total, room), last)
    if isinstance(room, Headroom) and total is not None and not room.allows(total):
        raise NoHeadroom(total, room)
    return [table]


def _note(total: Decimal | None, room: Headroom | str | None) -> str:
    """Say how the sum stands to the headroom, and when to look."""
    said = "After each grade, look under one lamp that no mark of the one before is left."
    if isinstance(room, Headroom):
        left = f" {shown(room.um - total)} um would be left." if total is not None else ""
        return f"The {room.panel}: {room.words()}.{left} {said}"
    return f"{room} {said}" if room else said


def _grades(text: str | None) -> list[Grade]:
    """Read grades parted by commas."""
    return [grade(part) for part in (text or "").split(",") if part.strip()]


def _takes(text: str | None, steps: int) -> list[Decimal | None]:
    """Read what each step takes. Raises TakesNotClear."""
    if not text:
        return [None] * steps
    try:
        found = [Decimal(part.strip()) for part in text.split(",")]
    except InvalidOperation:
        raise TakesNotClear(text, steps) from None
    if len(found) == 1:
        found *= steps
    if len(found) != steps or not all(each.is_finite() and each >= 0 for each in found):
        raise TakesNotClear(text, steps)
    return [*found]
