"""Payments made and received, each against what it settles."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists_books


@click.group(short_help="Payments made and received.")
def command() -> None:
    """Record payments. What a foreign payment differs by is exchange gain or loss."""


command.add_command(
    row_command(
        "add",
        "payments",
        ("amount",),
        "Record a payment of AMOUNT against --supplier-invoice, --owner-invoice or --sale. A "
        "foreign one is written '58000 EUR @ 1.0912', with --rate-source.",
    )
)
command.add_command(list_command(lists_books.payments, "List payments.", of_vehicle=False))
