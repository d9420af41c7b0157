"""Gloss readings with their angle."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists_bench


@click.group(short_help="Gloss readings with their angle.")
def command() -> None:
    """Record gloss with its angle; above 70 units at 60 degrees, 20 degrees is asked for."""


command.add_command(
    row_command(
        "add",
        "gloss readings",
        ("vehicle", "panel", "readings", "unit"),
        "Record gloss at one place: stock number, panel, readings, GU20, GU60 or GU85.",
    )
)
command.add_command(list_command(lists_bench.gloss, "List gloss readings."))
