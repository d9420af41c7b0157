"""Add, list and end findings."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.cli._shared import reads, show
from recondition.reports import lists


@click.group(short_help="Add, list and end findings.")
def command() -> None:
    """Add findings, list them, and record how each ended."""


command.add_command(
    row_command(
        "add",
        "findings",
        ("vehicle", "panel", "defect"),
        "Add a finding: stock number, panel, defect. Its area follows from the panel.",
    )
)
command.add_command(list_command(lists.findings, "List findings and how they ended."))
command.add_command(
    row_command(
        "end",
        "outcomes",
        ("vehicle", "finding", "ended"),
        "Record how a finding ended: resolved, partly resolved, left alone on purpose or not "
        "inspected; the last two with --reason.",
    )
)


@reads
@command.command("words")
@click.argument("material", required=False)
def words(material: str | None, *, as_json: bool) -> None:
    """List words for defects of MATERIAL, what is usually done, and what not to do."""
    from recondition.reports.lists_bench import words_table  # noqa: PLC0415 - only here

    show([words_table(material)], as_json=as_json)
