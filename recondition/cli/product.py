"""Add, list and show products."""

from __future__ import annotations

from pathlib import Path

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.cli._shared import acting, reads, show, the_book, writes
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


@writes
@command.command("sheet")
@click.argument("product")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--sheet-dated", "dated", metavar="DATE", help="Date of that sheet.")
def sheet(product: str, file: Path, dated: str | None) -> None:
    """Take pH, density, hazards and ingredients of PRODUCT from its data sheet's text FILE.

    They are found by name, never by letter, and shown; what the sheet does not say stays.
    """
    from recondition.intake.data_sheet import take_data_sheet  # noqa: PLC0415 - heavy, only here

    for line in take_data_sheet(the_book(), product, file, dated=dated, author_ref=acting()):
        click.echo(line)


command.add_command(list_command(lists.products, "List products.", of_vehicle=False))
