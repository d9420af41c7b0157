"""Identification tests of a surface: lead swab, cloth, solvent dab and others."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists_bench


@click.group(short_help="Small tests in a hidden place.")
def command() -> None:
    """Record small, hidden, reversible tests of what a surface is."""


command.add_command(
    row_command(
        "add",
        "surface tests",
        ("vehicle", "panel", "test", "answer"),
        "Record a test: stock number, panel, which test, its answer.",
    )
)
command.add_command(list_command(lists_bench.tests, "List tests and their answers."))
