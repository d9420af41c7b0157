"""State the terms a vehicle is to be sold on."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists


@click.group(short_help="Sale terms of a vehicle.")
def command() -> None:
    """State sale terms: price as it stands, commission, premium, limits, cut-off."""


command.add_command(
    row_command(
        "set",
        "terms",
        ("vehicle", "basis", "as_is", "labour_cost_rate"),
        "State the terms of a vehicle: hammer or all-in, the as-is price as low/likely/high, "
        "and the labour cost per hour. Later terms of the same --ref take their place.",
    )
)
command.add_command(list_command(lists.terms, "List sale terms."))
