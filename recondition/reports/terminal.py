"""Tables for the terminal: as wide as asked for, text wrapped, amounts whole."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from recondition.reports.cells import headings, shown_rows, visible
from recondition.reports.table import CellKind

if TYPE_CHECKING:
    from rich.console import JustifyMethod, RenderableType

    from recondition.reports.table import Table

# What a text column needs to stay readable when it is wrapped.
_LEAST_TEXT = 9
_GAP = 2


def to_terminal(table: Table, width: int = 80) -> str:
    """Write a table in at most ``width`` columns, ended by a line end.

    Amounts, numbers and dates are never cut or wrapped. Where they leave no room for the
    texts, each row is written as a block with one heading a line.
    """
    from rich.console import Console  # noqa: PLC0415 - the command line starts without it

    file = io.StringIO()
    console = Console(file=file, width=width, color_system=None, legacy_windows=False)
    console.print(_words(table.title))
    console.print(_rows(table, width) if table.all_rows else _words("Nothing to show."))
    if table.note:
        console.print(_words(table.note))
    return "\n".join(line.rstrip() for line in file.getvalue().splitlines()) + "\n"


def _rows(table: Table, width: int) -> RenderableType:
    """Write the rows side by side, or as blocks where the width is too small for that."""
    room = _room(table, width)
    return _blocks(table) if room is None else _grid(table, room)


def _words(text: str) -> RenderableType:
    """Give a text that means nothing but itself: no markup, no control characters."""
    from rich.text import Text  # noqa: PLC0415 - as above

    return Text(visible(text), overflow="fold")


def _widths(table: Table) -> list[tuple[int, int]]:
    """Give for each column the least width it can stand and the width it would like.

    Amounts, numbers and dates stand whole; only texts and headings may be wrapped.
    """
    from rich.cells import cell_len  # noqa: PLC0415 - as above

    rows = shown_rows(table)
    widths = []
    for place, (column, heading) in enumerate(zip(table.columns, headings(table), strict=True)):
        words = max((cell_len(word) for word in visible(heading).split()), default=1)
        cells = max((cell_len(line) for row in rows for line in row[place].splitlines()), default=1)
        wish = max(words, cells, 1)
        is_words = column.kind is CellKind.TEXT
        widths.append((min(wish, _LEAST_TEXT) if is_words else wish, wish))
    return widths


def _room(table: Table, width: int) -> list[int] | None:
    """Share the width over the columns, those that want least first; None if it is too small."""
    wanted = _widths(table)
    given = [least for least, _ in wanted]
    spare = width - sum(given) - _GAP * (len(given) - 1)
    if spare < 0:
        return None
    by_want = sorted(range(len(wanted)), key=lambda place: wanted[place][1] - wanted[place][0])
    for done, place in enumerate(by_want):
        least, wish = wanted[place]
        more = min(wish - least, spare // (len(by_want) - done))
        given[place] += more
        spare -= more
    return given


def _grid(table: Table, room: list[int]) -> RenderableType:
    from rich import box  # noqa: PLC0415 - as above
    from rich.table import Table as Grid  # noqa: PLC0415 - as above

    grid = Grid(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0), show_edge=False)
    for column, heading, width in zip(table.columns, headings(table), room, strict=True):
        justify: JustifyMethod = "left" if column.is_text else "right"
        grid.add_column(_words(heading), justify=justify, width=width, overflow="fold")
    rows = shown_rows(table)
    before_total = len(rows) - 1 if table.total is not None else 0
    for place, row in enumerate(rows, start=1):
        grid.add_row(*map(_words, row), end_section=place == before_total)
    return grid


def _blocks(table: Table) -> RenderableType:
    """Write a row as lines of heading and value, with an empty line after each."""
    from rich.table import Table as Grid  # noqa: PLC0415 - as above

    grid = Grid.grid(padding=(0, _GAP, 0, 0))
    grid.add_column(overflow="fold", ratio=1)
    grid.add_column(overflow="fold", ratio=2)
    named = headings(table)
    for row in shown_rows(table):
        for heading, text in zip(named, row, strict=True):
            grid.add_row(_words(heading), _words(text))
        grid.add_row("", "")
    return grid
