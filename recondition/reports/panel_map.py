"""The panel map: a plan of tiles, front at the top, left and right as from the driving seat.

Our own drawing. Each tile says its figures in words; colour (cividis, perceptual) and hatching
only repeat them, so that the map reads in grey and for the colour-blind. Numbers become floats
here to be drawn, and only here.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import TYPE_CHECKING, Any

from recondition.condition.film import shown
from recondition.condition.findings import SEVERITY_WORDS
from recondition.condition.panels import PANELS, Area
from recondition.reports.cells import visible
from recondition.reports.drawing import EMPTY, INK, PALE, Figure, drawing, finished

if TYPE_CHECKING:
    from recondition.condition.bodies import Body
    from recondition.reports.film import PanelFilm

_DARK, _LIGHT = "#010101", "#fefefe"
_HALF, _WIDE = 0.42, 0.94
_NAME_WIDTH, _CAPITALS_WIDTH, _SAID_WIDTH, _LINE = 18, 13, 19, 0.215
# A tile has room for this many lines; a longer one makes its whole row higher.
_LINES_ROOM = 3
# What is hatched keeps a plain field under its words, this far from the edge of the tile.
_PLAIN_IN = 0.075
# One painted-again panel must not push all the others to one end of the scale.
_TIMES_MEDIAN = 1.5
# Nor must a few micrometres look like the whole scale.
_SPAN_MIN = 1.25
_WORST = len(SEVERITY_WORDS) - 1

_PLAN: tuple[tuple[str, str, str], ...] = (
    ("", "front bumper", ""),
    ("", "front apron", ""),
    ("left front wing", "bonnet", "right front wing"),
    ("left A-pillar", "", "right A-pillar"),
    ("left front door", "roof|soft-top outer", "right front door"),
    ("left B-pillar", "hardtop", "right B-pillar"),
    ("left rear door", "sunroof", "right rear door"),
    ("left sill", "", "right sill"),
    ("left C-pillar", "", "right C-pillar"),
    ("left rear quarter", "boot lid|tailgate", "right rear quarter"),
    ("", "rear panel", ""),
    ("", "rear bumper", ""),
)
# Small panels take a row only where something is on record of them.
_IF_KNOWN = ("A-pillar", "B-pillar", "C-pillar", "sunroof", "hardtop", "apron", "rear panel")


@dataclass(frozen=True, slots=True)
class Tile:
    """One tile: its name and what it says. ``share`` is 0 to 1 on the colour scale, or None."""

    name: str
    lines: tuple[str, ...]
    share: float | None
    hatch: str = ""
    heavy: bool = False


Row = tuple[Tile | None, Tile | None, Tile | None]


def plan(body: Body, known: Sequence[str]) -> list[tuple[str, str, str]]:
    """Give the rows of names for a body; panels with a record that have no place come last."""
    rows: list[tuple[str, str, str]] = []
    for row in _PLAN:
        named = tuple(_one(name, body, known) for name in row)
        if any(named):
            rows.append((named[0], named[1], named[2]))
    placed = {name for row in rows for name in row}
    rest = [name for name in dict.fromkeys(known) if name not in placed]
    rest += [""] * (-len(rest) % 3)
    rows += [(rest[at], rest[at + 1], rest[at + 2]) for at in range(0, len(rest), 3)]
    return rows


def _one(name: str, body: Body, known: Sequence[str]) -> str:
    """Choose the panel of a place that this body has."""
    ways = [each for each in name.split("|") if each and body.has(each)]
    if ways and any(word in ways[0] for word in _IF_KNOWN) and ways[0] not in known:
        return ""
    return next((each for each in ways if each in known), ways[0] if ways else "")


def film_map(body: Body, films: Sequence[PanelFilm], *, name: str, title: str) -> Figure:
    """Draw lowest film and headroom of every panel. ``films`` may be empty."""
    by_name = {film.panel: film for film in films}
    lows = [float(film.found.lowest_um) for film in films]
    low, high = _ends(lows)
    tiles: dict[str, Tile] = {}
    for film in films:
        share = min((float(film.found.lowest_um) - low) / (high - low), 1.0) if high > low else 0.5
        room = f"room {shown(film.room.um)}" if film.room else "room not known"
        none = film.room is not None and film.room.um <= 0
        said = (f"low {shown(film.found.lowest_um)} um", "no headroom" if none else room)
        tiles[film.panel] = Tile(film.panel, said, share, heavy=none)
    more = " or more" if lows and max(lows) > high else ""
    ends = (f"{low:.0f} um", f"{high:.0f} um{more}") if lows else ("", "")
    told = "; ".join(
        f"{film.panel}: lowest {shown(film.found.lowest_um)} um, "
        + (film.room.words() if film.room else "headroom not known")
        for film in by_name.values()
    )
    empty = Tile("", ("no reading",), None, hatch="////")
    lead = "Lowest film"
    return tile_map(body, tiles, empty, (lead, *ends), name=name, title=title, told=told)


def _ends(lows: Sequence[float]) -> tuple[float, float]:
    """Give the ends of the colour scale, from the lowest film up."""
    if not lows:
        return 0.0, 1.0
    low = min(lows)
    top = min(max(lows), _TIMES_MEDIAN * median(lows))
    return low, max(top, _SPAN_MIN * low)


@dataclass(frozen=True, slots=True)
class Seen:
    """Findings on one panel: how many, the worst severity, and how many were not inspected."""

    count: int
    worst: int | None
    unseen: int = 0


def findings_map(body: Body, seen: Mapping[str, Seen], *, name: str, title: str) -> Figure:
    """Draw findings by severity: the outside panel by panel, the rest area by area."""
    areas = {panel: area for area, panels in PANELS.items() for panel in panels}
    outside = {n: s for n, s in seen.items() if areas.get(n, Area.EXTERIOR) is Area.EXTERIOR}
    tiles = {name: _seen_tile(name, each) for name, each in outside.items()}
    for area in list(Area)[1:]:
        inside = [each for panel, each in seen.items() if areas.get(panel) is area]
        if inside:
            worst = max((each.worst for each in inside if each.worst is not None), default=None)
            count = sum(each.count for each in inside)
            unseen = sum(each.unseen for each in inside)
            tiles[area.value] = _seen_tile(area.value, Seen(count, worst, unseen))
    told = "; ".join(f"{tile.name}: {', '.join(tile.lines)}" for tile in tiles.values())
    empty = Tile("", ("none found",), None)
    lead = ("Worst severity", "0", str(_WORST))
    return tile_map(body, tiles, empty, lead, name=name, title=title, told=told)


def _seen_tile(name: str, seen: Seen) -> Tile:
    """Say what was found on one tile."""
    said = f"{seen.count} finding" + ("s" if seen.count != 1 else "")
    if seen.worst is None:
        return Tile(name, (said, "not inspected"), None, hatch="xxxx")
    worst = f"worst {seen.worst}" + (", some unseen" if seen.unseen else "")
    return Tile(name, (said, worst), 1 - seen.worst / _WORST, heavy=seen.worst == _WORST)


def tile_map(  # noqa: PLR0913 - each is a separate choice of the caller
    body: Body,
    tiles: Mapping[str, Tile],
    empty: Tile,
    scale: tuple[str, str, str],
    *,
    name: str,
    title: str,
    told: str,
) -> Figure:
    """Draw the plan of a body with what its tiles say; ``empty`` stands for every other panel.

    ``scale`` names the colours and their two ends, ``told`` says the same in words.
    """
    placed = [
        [(tiles.get(each) or replace(empty, name=each)) if each else None for each in row]
        for row in plan(body, list(tiles))
    ]
    more = [_more([tile for tile in row if tile]) for row in placed]
    with drawing(0.9 + 0.72 * (len(placed) + sum(more))) as (canvas, axes):
        top = -0.5
        for row, extra in zip(placed, more, strict=True):
            down, half = top + (1 + extra) / 2, _HALF + extra / 2
            for across, tile in enumerate(row):
                if tile:
                    _tile(axes, (across, down), half, tile)
            top += 1 + extra
        axes.set_xlim(-0.5, 2.5)
        axes.set_ylim(top, -1.25)
        axes.set_axis_off()
        _scale(axes, scale, reverse=scale[0].startswith("Worst"))
        for across, word in ((0, "left"), (1, "front"), (2, "right")):
            axes.text(across, -0.62, word, ha="center", va="center", fontsize=9, color=INK)
        return finished(canvas, name, title, f"{told or 'Nothing is on record'}.")


def _lines(tile: Tile) -> tuple[str, ...]:
    """Give the lines of a tile: its name, on two lines at most, and all that it says."""
    said = [part for line in tile.lines for part in textwrap.wrap(line, _SAID_WIDTH)]
    wide = _CAPITALS_WIDTH if tile.name.isupper() else _NAME_WIDTH
    name = textwrap.wrap(visible(tile.name), wide, max_lines=2, placeholder="\u2026")
    return (*name, *said)


def _more(tiles: Sequence[Tile]) -> float:
    """Tell how much higher than the others a row must be for the lines of its tiles."""
    most = max((len(_lines(tile)) for tile in tiles), default=0)
    return max(most - _LINES_ROOM, 0) * _LINE


def _tile(axes: Any, at: tuple[float, float], half: float, tile: Tile) -> None:  # noqa: ANN401 - no types
    """Draw one tile around a point, ``half`` of its height up and down from there."""
    across, down = at
    colour, edge = colour_of(tile.share), INK if tile.heavy else PALE
    _box(axes, at, half, facecolor=colour, edgecolor=edge, linewidth=3 if tile.heavy else 0.8)
    if tile.hatch:
        _box(axes, at, half, facecolor="none", edgecolor=PALE, hatch=tile.hatch, linewidth=0)
        _box(axes, at, half, _PLAIN_IN, facecolor=colour, edgecolor="none", linewidth=0)
    ink = INK if tile.share is None else ink_on(colour)
    lines = _lines(tile)
    # Each line by itself: only so does its middle stay in the middle in any typeface.
    for place, line in enumerate(lines):
        high = down + _LINE * (place - (len(lines) - 1) / 2)
        axes.text(across, high, line, ha="center", va="center", fontsize=9, color=ink)


def _box(axes: Any, at: tuple[float, float], half: float, inset: float = 0.0, **look: Any) -> None:  # noqa: ANN401
    """Draw a box with round corners around a point, ``inset`` smaller on every side."""
    from matplotlib.patches import FancyBboxPatch  # noqa: PLC0415 - slow to load

    across, down = at
    wide, high = _WIDE / 2 - inset, half - inset
    shape = FancyBboxPatch(
        (across - wide, down - high),
        2 * wide,
        2 * high,
        boxstyle="round,pad=0,rounding_size=0.08",
        mutation_aspect=0.6,
        **look,
    )
    axes.add_patch(shape)


def _scale(axes: Any, scale: tuple[str, str, str], *, reverse: bool) -> None:  # noqa: ANN401
    """Draw the colour scale above the tiles with its ends named."""
    lead, low, high = scale
    if not low:
        return
    steps = 12
    for step in range(steps):
        share = step / (steps - 1)
        colour = colour_of(1 - share if reverse else share)
        axes.barh(-1.08, 0.9 / steps, left=0.9 + step * 0.9 / steps, height=0.2, color=colour)
    axes.text(-0.45, -1.08, lead, ha="left", va="center", fontsize=9, color=INK)
    axes.text(0.86, -1.08, low, ha="right", va="center", fontsize=9, color=INK)
    axes.text(1.84, -1.08, high, ha="left", va="center", fontsize=9, color=INK)


def colour_of(share: float | None) -> str:
    """Give the colour of a share on the cividis map; paper where there is none."""
    from matplotlib import colormaps  # noqa: PLC0415 - slow to load
    from matplotlib.colors import to_hex  # noqa: PLC0415 - as above

    return EMPTY if share is None else str(to_hex(colormaps["cividis"](share)))


def luminance(colour: str) -> float:
    """Give the relative luminance of a colour (WCAG 2.2)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]  # noqa: PLR2004
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Give the contrast ratio of two colours (WCAG 2.2)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def ink_on(colour: str) -> str:
    """Give the ink that stands out better on a colour."""
    return max((_DARK, _LIGHT), key=lambda ink: contrast(ink, colour))
