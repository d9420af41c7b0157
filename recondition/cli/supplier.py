"""Add and list suppliers; show and erase what is kept about them."""

from __future__ import annotations

import click

from recondition.cli import _erasing
from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists


@click.group(short_help="Add and list suppliers.")
def command() -> None:
    """Add suppliers, list them, show or erase what is kept about them."""


command.add_command(row_command("add", "suppliers", ("ref", "name"), "Add a supplier."))
command.add_command(list_command(lists.suppliers, "List suppliers.", of_vehicle=False))
_erasing.add_to(command, "supplier")
