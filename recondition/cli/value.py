"""Test what an unsold own car may stand at in the books."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists_books


@click.group(short_help="Write-downs to net realisable value.")
def command() -> None:
    """Test unsold own cars against what they may fetch, and write them down or back up."""


command.add_command(
    row_command(
        "add",
        "value tests",
        ("vehicle", "expected_price", "to_complete", "to_sell", "basis"),
        "Test a car: stock number, expected price, cost to finish, cost to sell, what it rests on.",
    )
)
command.add_command(list_command(lists_books.value_tests, "List value tests."))
