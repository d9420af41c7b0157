"""Tables for the terminal: as wide as asked for, text wrapped, amounts whole."""

from __future__ import annotations

import io
from itertools import pairwise
from typing import TYPE_CHECKING

from recondition.reports.cells import headings, shown_rows, visible

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

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
    _print(console, _grid(table) if _fits(table, width) else _blocks(table))
    if table.note:
        console.print(_words(table.note))
    return "\n".join(line.rstrip() for line in file.getvalue().splitlines()) + "\n"


def _print(console: Console, body: RenderableType) -> None:
    console.print(body)


def _words(text: str) -> RenderableType:
    """Give a text that means nothing but itself: no markup, no control characters."""
    from rich.text import Text  # noqa: PLC0415 - as above

    return Text(visible(text), overflow="fold")


def _widest(table: Table) -> list[int]:
    """Give the width each column needs to stand unwrapped, its heading wrapped at blanks."""
    from rich.cells import cell_len  # noqa: PLC0415 - as above

    rows = shown_rows(table)
    widths = []
    for place, heading in enumerate(headings(table)):
        words = [cell_len(word) for word in heading.split()]
        lines = [cell_len(line) for row in rows for line in row[place].splitlines()]
        widths.append(max([*words, *lines, 1]))
    return widths


def _fits(table: Table, width: int) -> bool:
    """Tell whether the amounts stand unwrapped and every text still gets some room."""
    needs = [
        min(widest, _LEAST_TEXT) if column.kind.value == "text" else widest
        for column, widest in zip(table.columns, _widest(table), strict=True)
    ]
    return sum(needs) + _GAP * len(needs) <= width


def _grid(table: Table) -> RenderableType:
    from rich import box  # noqa: PLC0415 - as above
    from rich.table import Table as Grid  # noqa: PLC0415 - as above

    grid = Grid(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0), show_edge=False)
    pairs = zip(table.columns, headings(table), _widest(table), strict=True)
    for column, heading, widest in pairs:
        is_words = column.kind.value == "text"
        grid.add_column(
            _words(heading),
            justify="left" if column.is_text else "right",
            min_width=min(widest, _LEAST_TEXT) if is_words else widest,
            no_wrap=False,
            overflow="fold",
        )
    rows = shown_rows(table)
    ends = [following is rows[-1] and table.total is not None for _, following in pairwise(rows)]
    for row, section in zip(rows, [*ends, False], strict=False):
        grid.add_row(*map(_words, row), end_section=section)
    return grid


def _blocks(table: Table) -> RenderableType:
    """Write a row as lines of heading and value, with an empty line after each."""
    from rich.table import Table as Grid  # noqa: PLC0415 - as above

    grid = Grid.grid(padding=(0, _GAP, 0, 0))
    grid.add_column(overflow="fold", ratio=1)
    grid.add_column(overflow="fold", ratio=2)
    for row in shown_rows(table):
        for heading, text in zip(headings(table), row, strict=True):
            grid.add_row(_words(heading), _words(text))
        grid.add_row("", "")
    return grid
