"""Add and list suppliers."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists


@click.group(short_help="Add and list suppliers.")
def command() -> None:
    """Add suppliers and list them."""


command.add_command(row_command("add", "suppliers", ("ref", "name"), "Add a supplier."))
command.add_command(list_command(lists.suppliers, "List suppliers.", of_vehicle=False))
