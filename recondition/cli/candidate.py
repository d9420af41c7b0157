"""Add and list candidate work and what pieces of it are worth together."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists


@click.group(short_help="Add and list candidate work.")
def command() -> None:
    """Add candidate work, say what pieces of it are worth together, and list it."""


command.add_command(
    row_command(
        "add",
        "candidates",
        ("vehicle", "name"),
        "Add work that could be done on a vehicle. Hours, cash and uplift are each given as "
        "low/likely/high.",
    )
)
command.add_command(
    row_command(
        "together",
        "interactions",
        ("vehicle", "items", "delta_uplift"),
        "Say what a set of work ('C-01; C-02') is worth beyond its parts.",
    )
)
command.add_command(list_command(lists.candidates, "List candidate work."))
