"""What must come before what: the rules, and where a car's work broke one."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.cli._shared import reads, show, the_book
from recondition.reports import lists_bench


@click.group(short_help="What must come before what.")
def command() -> None:
    """Read the rules of the order of work, add your own, and see where one was broken."""


command.add_command(
    row_command(
        "add",
        "work rules",
        ("ref", "task", "kind", "other", "why"),
        "Add a rule: its name, the work it is about, what it asks ('needs before it', 'never "
        "after' or 'not on the same day after'), the other work, why. A trade's own name "
        "replaces that rule.",
    )
)
command.add_command(
    list_command(lists_bench.rules, "List the rules that are in force.", of_vehicle=False)
)


@reads
@command.command("check")
@click.argument("vehicle")
def check(vehicle: str, *, as_json: bool) -> None:
    """Say where posted work on VEHICLE (stock number) broke a rule, and what was overridden."""
    from recondition.reports.cautions import breach_tables  # noqa: PLC0415 - heavy, only here

    with the_book().reading() as conn:
        tables = breach_tables(conn, vehicle)
    show(tables, as_json=as_json)
