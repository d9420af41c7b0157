"""Add, list and show products."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.cli._shared import reads, show, the_book
from recondition.reports import lists


@click.group(short_help="Add, list and show products.")
def command() -> None:
    """Add products, list them, and show what their sheets say."""


command.add_command(
    row_command(
        "add",
        "products",
        ("ref", "name", "material_type", "unit"),
        "Add a consumable, with the generic word a buyer may see and the unit its stock is "
        "counted in.",
    )
)


@reads
@command.command("show")
@click.argument("product")
def show_product(product: str, *, as_json: bool) -> None:
    """Show what the label and the safety data sheet of PRODUCT say."""
    with the_book().reading() as conn:
        tables = lists.one_product(conn, product)
    show(tables, as_json=as_json)


command.add_command(list_command(lists.products, "List products.", of_vehicle=False))
