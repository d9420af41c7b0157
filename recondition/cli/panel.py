"""Record what a panel is made of, its finish and whether it must not be touched."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists


@click.group(short_help="Substrate and finish of panels.")
def command() -> None:
    """Record panels: substrate, finish, what is believed of it, and no-touch."""


command.add_command(
    row_command("add", "panels", ("vehicle", "panel"), "Record a panel of a vehicle.")
)
command.add_command(list_command(lists.panels, "List panels."))
