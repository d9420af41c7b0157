"""Tax codes of the book's own, each with its days and source."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists_books


@click.group(short_help="Tax codes with their days and source.")
def command() -> None:
    """Keep tax codes. No rate is built in; the local accountant decides what applies."""


command.add_command(
    row_command(
        "add",
        "tax codes",
        ("code", "rate", "recoverable", "source"),
        "Add a rate of a code: code, rate, how much of tax paid comes back, where it was read. "
        "--from says since when.",
    )
)
command.add_command(list_command(lists_books.tax_codes, "List tax codes.", of_vehicle=False))
