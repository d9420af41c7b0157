"""Add and list people and their rates; show and erase what is kept about them."""

from __future__ import annotations

import click

from recondition.cli import _erasing
from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists


@click.group(short_help="People and their rates.")
def command() -> None:
    """Add people and their hourly rates, list them, show or erase what is kept about them."""


command.add_command(
    row_command("add", "people", ("ref", "name", "role"), "Add a person: initials, name, role.")
)
command.add_command(
    row_command(
        "rate",
        "rates",
        ("person", "from_date", "cost_rate"),
        "Say what an hour of a person costs the shop from a day on, and with --charge-out-rate "
        "what an owner is charged.",
    )
)
command.add_command(
    row_command(
        "paid",
        "paid hours",
        ("person", "week", "hours"),
        "Enter what a person was paid for: initials, the week's Monday, hours.",
    )
)
command.add_command(list_command(lists.people, "List people and rates.", of_vehicle=False))


_erasing.add_to(command, "person")
