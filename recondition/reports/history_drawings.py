"""Drawings of the work history: findings panel by panel before and after, and when what was done.

Drawn from the public sheet alone. Every colour is repeated in words, and every drawing says
in its description what it shows. Dates become numbers here to be drawn, and only here.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from recondition.condition.bodies import body_of
from recondition.condition.findings import SEVERITY_WORDS
from recondition.condition.panels import Area
from recondition.history import page
from recondition.history import phrases as ph
from recondition.history.layout import Shot
from recondition.history.saying import Saying
from recondition.reports.drawing import DARK_END, INK, PALE, Figure, drawing, finished
from recondition.reports.panel_map import Tile, tile_map

if TYPE_CHECKING:
    from recondition.history.sheet import FindingRow, Sheet

PAPER = "#fbf9f4"
_WORST = len(SEVERITY_WORDS) - 1
_NUMBERS_MAX = 4

# In inches down the drawing: a lane has two lines of words, and dots above a line of its own.
_LINE, _WORDS, _BETWEEN, _STACK_MAX, _STEP_MAX = 0.18, 0.5, 0.22, 0.4, 0.1
_INSET = 0.015
_DOT = 34
_TEXT_PT = 9
_PT_PER_PX = 0.75
_VARIABLE = re.compile(r"var\(--[a-z-]+, (#[0-9a-f]{6})\)")
_FONTS = re.compile(r"(font(?:-family)?: ?(?:[0-9.]+px )?)'[^;\"]*")


def panel_maps(sheet: Sheet) -> tuple[Figure, ...]:
    """Draw the findings by severity as found and as they stand, on the same tiles.

    Two drawings, or none where nothing was found.
    """
    if not sheet.findings:
        return ()
    today = ph.AS_IT_STANDS.format(day=Saying(sheet.issue.locale).day(sheet.made_on))
    return (
        _map(sheet, "map-as-found", ph.AS_FOUND, _tile_found),
        _map(sheet, "map-as-it-stands", today, _tile_now),
    )


def _map(
    sheet: Sheet, name: str, title: str, tile: Callable[[str, Sequence[FindingRow]], Tile]
) -> Figure:
    """Draw one map: the outside panel by panel, the rest area by area."""
    rows_of: dict[str, list[FindingRow]] = {}
    for row in sheet.findings:
        place = row.panel if row.area is Area.EXTERIOR else row.area.value
        rows_of.setdefault(place, []).append(row)
    tiles = {place: tile(place, rows) for place, rows in rows_of.items()}
    told = "; ".join(_told(each, rows_of[place]) for place, each in tiles.items())
    body, empty = body_of(sheet.identity.body_style), Tile("", (ph.NONE_RECORDED,), None)
    return tile_map(body, tiles, empty, ph.SCALE, name=name, title=title, told=told)


def _told(tile: Tile, rows: Sequence[FindingRow]) -> str:
    """Say in one line what a tile says, with the numbers of its findings."""
    numbers = _numbered(rows)
    return f"{tile.name} ({numbers}): {', '.join(each for each in tile.lines if each != numbers)}"


def _tile_found(place: str, rows: Sequence[FindingRow]) -> Tile:
    """Say what was found in one place."""
    return _tile(place, rows, [row.severity for row in rows], ph.TILE_NOT_INSPECTED, ph.NO_FAULT)


def _tile_now(place: str, rows: Sequence[FindingRow]) -> Tile:
    """Say how the findings of one place stand; one that is gone is not as if it never was."""
    unknown = (
        ph.TILE_NOT_INSPECTED if any(row.not_inspected for row in rows) else ph.TILE_NOT_STATED
    )
    fine = ph.NOTHING_LEFT if any(row.severity != 0 for row in rows) else ph.NO_FAULT
    now = [row.severity_now for row in rows]
    tile = _tile(place, rows, now, unknown, fine)
    if any(row.unseen_at_end and row.remains for row in rows):
        unseen = all(row.unseen_at_end for row in rows)
        worst = max(severity for severity in now if severity is not None)
        return replace(
            tile,
            lines=(
                ph.SEVERITY_SHORT[worst],
                ph.UNSEEN_SINCE if unseen else ph.TILE_NOT_INSPECTED[1],
            ),
        )
    return tile


def _tile(
    place: str,
    rows: Sequence[FindingRow],
    severities: Sequence[int | None],
    unknown: tuple[str, str],
    fine: str,
) -> Tile:
    """Make one tile; ``unknown`` is said of severities that are not known, ``fine`` of none."""
    numbers = _numbered(rows)
    known = [severity for severity in severities if severity is not None]
    if not known:
        return Tile(place, (numbers, unknown[0]), None, hatch="xxxx")
    worst = max(known)
    said = ph.SEVERITY_SHORT[worst] if worst else fine
    lines = (numbers, said) if len(known) == len(severities) else (said, unknown[1])
    return Tile(place, lines, 1 - worst / _WORST, heavy=worst == _WORST)


def _numbered(rows: Sequence[FindingRow]) -> str:
    """Name findings by their numbers on the sheet; many by how many they are."""
    if len(rows) > _NUMBERS_MAX:
        return f"{len(rows)} findings"
    word = "finding" if len(rows) == 1 else "findings"
    return f"{word} {', '.join(str(row.number) for row in rows)}"


@dataclass(frozen=True, slots=True)
class _Lane:
    """One kind of event: its name for one and for several, and the day of each event."""

    one: str
    several: str
    days: tuple[date, ...]

    @property
    def step(self) -> float:
        """How far apart dots of one day stand, in inches: a stack always fits."""
        most = max(Counter(self.days).values())
        return min(_STEP_MAX, _STACK_MAX / max(most - 1, 1))

    @property
    def high(self) -> float:
        """How much room the lane takes, in inches."""
        return _WORDS + self.step * (max(Counter(self.days).values()) - 1) + _BETWEEN

    def words(self, saying: Saying) -> tuple[str, str]:
        """Say how many there are and how they share their days; then first and last day."""
        first, last = min(self.days), max(self.days)
        count = f"{len(self.days)} {self.one if len(self.days) == 1 else self.several}"
        if first == last:
            return count, saying.day(first)
        by_day = Counter(self.days)
        most = max(by_day.values())
        shared = f" on {len(by_day)} days" + (f", up to {most} on one day" if most > 1 else "")
        return f"{count}{shared}", f"{saying.day(first)} to {saying.day(last)}"


@dataclass(frozen=True, slots=True)
class _Span:
    """The days that the line runs over."""

    begin: date
    end: date

    def at(self, when: date) -> float:
        """Give the place of a day on the line, from 0 to 1."""
        return (when - self.begin).days / max((self.end - self.begin).days, 1)


def timeline(sheet: Sheet) -> Figure | None:
    """Draw what was found, done and settled on a line from arrival to the date of the sheet.

    None where the sheet holds no day but its own.
    """
    saying, lanes, arrived = Saying(sheet.issue.locale), _lanes(sheet), sheet.identity.arrived_on
    marks = [(ph.DATE_OF_SHEET, sheet.made_on)]
    if arrived:
        marks.insert(0, (ph.ARRIVAL, arrived))
    days = [each for lane in lanes for each in lane.days] + [when for _, when in marks]
    if len(days) == 1:
        return None
    span = _Span(min(days), max(days))
    said = [(f"{word}: {saying.day(when)}", span.at(when)) for word, when in marks]
    told = [text for text, _ in said] + [", ".join(lane.words(saying)) for lane in lanes]
    foot = sum(lane.high for lane in lanes)
    high = foot + _LINE * (len(said) + 1)
    with drawing(high) as (canvas, axes):
        down = 0.0
        for lane in lanes:
            _draw_lane(axes, down, lane, span, saying)
            down += lane.high
        _draw_line(axes, foot, said)
        axes.set_xlim(-0.02, 1.02)
        axes.set_ylim(high, 0)
        axes.set_axis_off()
        return finished(canvas, "timeline", ph.TIMELINE, f"{'; '.join(told)}.")


def _lanes(sheet: Sheet) -> list[_Lane]:
    """Gather what was found, what was done and what was settled, each with its day."""
    lanes = (
        _Lane(*ph.COUNTED_FINDINGS, tuple(row.found_on for row in sheet.findings)),
        _Lane(*ph.COUNTED_WORK, tuple(row.work_date for row in sheet.work)),
        _Lane(
            *ph.COUNTED_OUTCOMES,
            tuple(each.ended_on for row in sheet.findings for each in row.endings),
        ),
    )
    return [lane for lane in lanes if lane.days]


def _draw_lane(axes: Any, down: float, lane: _Lane, span: _Span, saying: Saying) -> None:  # noqa: ANN401 - no types
    """Draw one lane: two lines of words, and a dot for each event above its day."""
    base = down + lane.high - _BETWEEN
    for line, text in enumerate(lane.words(saying)):
        high = down + _LINE * (line + 0.5)
        axes.text(_INSET, high, text, ha="left", va="center", fontsize=_TEXT_PT, color=INK)
    axes.plot((0, 1), (base, base), color=PALE, linewidth=0.8, zorder=1)
    by_day = Counter(lane.days)
    dots = [(when, up) for when, n in sorted(by_day.items()) for up in range(n)]
    across, high_up = [span.at(when) for when, _ in dots], [base - lane.step * up for _, up in dots]
    axes.scatter(across, high_up, s=_DOT, color=DARK_END, linewidth=0, zorder=2)


def _draw_line(axes: Any, foot: float, said: Sequence[tuple[str, float]]) -> None:  # noqa: ANN401
    """Draw the line itself with its marks, each with words on a row of its own."""
    axes.plot((0, 1), (foot, foot), color=INK, linewidth=1.6, zorder=1)
    for row, (text, at) in enumerate(said, start=1):
        axes.plot((at, at), (foot, 0), color=PALE, linewidth=0.8, zorder=0)
        axes.scatter((at,), (foot,), s=_DOT, color=INK, marker="D", zorder=2)
        side, inset = ("left", _INSET) if at < 0.5 else ("right", -_INSET)  # noqa: PLR2004 - the middle
        high = foot + _LINE * row
        axes.text(at + inset, high, text, ha=side, va="center", fontsize=_TEXT_PT, color=INK)


def standalone(figure: Figure) -> bytes:
    """Give a drawing as an SVG file of its own, on paper colour, for a place without a page.

    Colours and typefaces need no page; the text stays text.
    """
    svg = _FONTS.sub(r"\1sans-serif", _VARIABLE.sub(r"\1", figure.svg))
    box = re.search(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"', svg)
    if box:
        sides = (f'{name}="{float(points) / _PT_PER_PX:g}"' for name, points in
                 zip(("width", "height"), box.groups(), strict=True))  # fmt: skip
        svg = svg.replace("<svg ", f"<svg {' '.join(sides)} ", 1)
    behind = f'<rect width="100%" height="100%" fill="{PAPER}"/>'
    svg = svg.replace("</desc>", f"</desc>{behind}", 1)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{svg}\n'.encode()


def drawings_of(sheet: Sheet) -> dict[str, tuple[Shot, bytes]]:
    """Give every drawing of a sheet by the name of its record: its words, and its file."""
    names = (page.AS_FOUND, page.AS_IT_STANDS)
    drawn = dict(zip(names, panel_maps(sheet), strict=False))
    line = timeline(sheet)
    if line is not None:
        drawn[page.TIMELINE] = line
    return {
        name: (
            Shot(name, f"{figure.title}. {figure.description}", figure.title),
            standalone(figure),
        )
        for name, figure in drawn.items()
    }
