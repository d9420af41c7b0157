"""Add and list products."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists


@click.group(short_help="Add and list products.")
def command() -> None:
    """Add products and list them."""


command.add_command(
    row_command(
        "add",
        "products",
        ("ref", "name", "material_type", "unit"),
        "Add a consumable, with the generic word a buyer may see and the unit its stock is "
        "counted in.",
    )
)
command.add_command(list_command(lists.products, "List products.", of_vehicle=False))
