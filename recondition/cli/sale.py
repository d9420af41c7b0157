"""What vehicles were sold for."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists_worth


@click.group(short_help="What vehicles were sold for.")
def command() -> None:
    """Record what a vehicle fetched; frozen decisions are then held against it."""


command.add_command(
    row_command(
        "add",
        "sales",
        ("vehicle", "price"),
        "Record a sale: stock number and price, on the hammer unless --price-is all-in says else.",
    )
)
command.add_command(list_command(lists_worth.sales, "List sales."))
