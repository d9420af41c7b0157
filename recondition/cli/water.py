"""Reading the water: drops on a panel, hardness of a tap."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists_bench


@click.group(short_help="Drops on a panel, hardness of a tap.")
def command() -> None:
    """Record how drops stand on a panel and how hard the water is; each says what it means."""


command.add_command(
    row_command(
        "drops",
        "water drops",
        ("vehicle", "panel", "drops", "soap_rinsed"),
        "Record drops: stock number, panel, height x width in mm of each ('1.2x3.0; 1.1x3.1'), "
        "and whether soap was rinsed off (yes or no).",
    )
)
command.add_command(
    row_command(
        "hardness",
        "water hardness",
        ("tap",),
        "Record a tap's hardness from calcium and magnesium, or from a strip.",
    )
)
command.add_command(list_command(lists_bench.water, "List drops and hardness."))
