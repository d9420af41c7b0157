"""From a matplotlib drawing to an inline SVG that follows the page's light or dark colours.

Figures are drawn at the width of a phone and grow with the page. Text stays text. The same
figures give the same bytes: no date, fixed salt for the ids.
"""

from __future__ import annotations

import io
import re
from contextlib import contextmanager
from dataclasses import dataclass
from html import escape
from threading import RLock
from typing import TYPE_CHECKING, Any

from recondition.reports.cells import visible

if TYPE_CHECKING:
    from collections.abc import Iterator

WIDTH_IN = 4.1  # 394 CSS px: near enough to a 360 px screen for 10 pt to stay readable
TEXT_PT = 10.5

# Ends of the cividis map (perceptual, safe for the colour-blind), ink, what frames and what is
# empty. The page gives
# each its light and dark value; the value here stands where no page does.
INK = "#16262d"
PALE = "#c9c3b6"
EMPTY = "#f6f3ea"
DARK_END = "#123c6b"
LIGHT_END = "#e8cf5a"
# matplotlib's settings are one for the whole process, and pages are made by several threads.
_ONE_AT_A_TIME = RLock()
_ROLES = {INK: "ink", PALE: "rule", EMPTY: "sheet", DARK_END: "fig-dark", LIGHT_END: "fig-light"}

# matplotlib names its settings by literal types; a plain dictionary of them is Any.
_SETTINGS: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "recondition",
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans", "system-ui", "Arial", "sans-serif"],
    "font.size": TEXT_PT,
    "text.color": INK,
    "axes.edgecolor": PALE,
    "axes.labelcolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "hatch.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.spines.left": False,
}


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing as inline SVG. ``description`` says in words what it shows."""

    name: str
    title: str
    description: str
    svg: str


@contextmanager
def drawing(height_in: float) -> Iterator[tuple[Any, Any]]:
    """Open a figure and its axes in the house style, and close it afterwards."""
    import matplotlib as mpl  # noqa: PLC0415 - slow to load, wanted by pages only
    from matplotlib.figure import Figure as Canvas  # noqa: PLC0415 - as above

    with _ONE_AT_A_TIME, mpl.rc_context(_SETTINGS):
        canvas = Canvas(figsize=(WIDTH_IN, height_in), layout="constrained")
        yield canvas, canvas.add_subplot()


def finished(canvas: Any, name: str, title: str, description: str) -> Figure:  # noqa: ANN401
    """Turn a canvas into a Figure. ``name`` keeps its ids apart from other figures' ids.

    To be called while ``drawing`` is open.
    """
    title, description = visible(title), visible(description)
    file = io.StringIO()
    canvas.savefig(file, format="svg", transparent=True, metadata={"Date": None})
    raw = file.getvalue()
    body = raw[raw.index("<svg") :]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    body = re.sub(r'(\bid="|url\(#|href="#)', rf"\g<1>{name}-", body)
    for colour, role in _ROLES.items():
        body = body.replace(colour, f"var(--{role}, {colour})")
    return Figure(name, title, description, _named(body, name, title, description))


def _named(svg: str, name: str, title: str, description: str) -> str:
    """Give the drawing its name and description for those who cannot see it."""
    start = svg.index(">") + 1
    box = re.search(r'viewBox="[^"]+"', svg[:start])
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'{box.group() if box else ""} role="img" aria-label="{escape(title)}" '
        f'aria-describedby="{name}-desc">'
    )
    words = f'<title>{escape(title)}</title><desc id="{name}-desc">{escape(description)}</desc>'
    return opening + words + svg[start:].strip()
