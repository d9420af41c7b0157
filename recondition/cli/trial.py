"""Tests worth making before a piece of work."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists_worth


@click.group(short_help="Tests worth making before a piece of work.")
def command() -> None:
    """Enter a test panel or an expert's word; the plan says what it is worth."""


command.add_command(
    row_command(
        "add",
        "test first",
        ("vehicle", "name", "p_good"),
        "Enter a test: stock number, what would be tested, the chance that it turns out well; "
        "uplifts, hours and cash either way as options.",
    )
)
command.add_command(list_command(lists_worth.trials, "List tests."))
