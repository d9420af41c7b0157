"""Add, list and show vehicles."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.cli._shared import reads, show, the_book
from recondition.reports import lists


@click.group(short_help="Add, list and show vehicles.")
def command() -> None:
    """Add, list and show vehicles. The vehicle's ref is its stock number."""


command.add_command(
    row_command(
        "add",
        "vehicles",
        ("ref", "designation"),
        "Add the vehicle of stock number REF, described as on its documents. It is own stock "
        "unless --whose-it-is says consigned.",
    )
)
command.add_command(list_command(lists.vehicles, "List all vehicles.", of_vehicle=False))


@reads
@command.command("show")
@click.argument("stock")
def show_one(stock: str, *, as_json: bool) -> None:
    """Show the vehicle of a stock number: identity, findings, work, ledger and totals."""
    with the_book().reading() as conn:
        tables = lists.one_vehicle(conn, stock)
    show(tables, as_json=as_json)
