"""Supplier invoices, and costs shared over several vehicles."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists_books


@click.group(short_help="Supplier invoices and shared costs.")
def command() -> None:
    """Record supplier invoices; lines that name supplier and number are held against them.

    'recondition books invoices' shows how they tie.
    """


command.add_command(
    row_command(
        "add",
        "supplier invoices",
        ("supplier", "number", "total"),
        "Record an invoice: supplier, its number, total with tax. A total in another currency is "
        "written '58000 EUR @ 1.0835', with --rate-source. A credit note is below zero and written "
        "last, after two dashes: 'invoice add --owed-to supplier -- fw CN5 -120'.",
    )
)
command.add_command(
    row_command(
        "share",
        "shared charges",
        ("vehicles", "by", "price", "item", "words"),
        "Share one cost over vehicles: stock numbers ('0007; 0008'), rule (equally, value, "
        "weight, time), amount, what was paid for, words. --weights gives one for each.",
    )
)
command.add_command(
    list_command(lists_books.supplier_invoices, "List supplier invoices.", of_vehicle=False)
)
