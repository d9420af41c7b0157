"""Commands that list or show records of one kind."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from recondition.cli._shared import reads, show, the_book

if TYPE_CHECKING:
    from collections.abc import Callable

    from recondition.book import Connection
    from recondition.reports.table import Table


def list_command(
    build: Callable[[Connection, str | None], list[Table]], words: str, *, of_vehicle: bool = True
) -> click.Command:
    """Make the command that lists records, of one vehicle where a stock number is given."""
    params: list[click.Parameter] = []
    if of_vehicle:
        params = [click.Argument(["vehicle"], required=False, metavar="[STOCK]")]

    def listing(*, as_json: bool, vehicle: str | None = None) -> None:
        with the_book().reading() as conn:
            tables = build(conn, vehicle)
        show(tables, as_json=as_json)

    return reads(click.Command("list", callback=listing, params=params, help=words))
