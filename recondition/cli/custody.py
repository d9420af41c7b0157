"""Keys, tools, papers and things found in a car: where each is now."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.cli._shared import reads, show_json, the_book
from recondition.reports import lists_bench


@click.group(short_help="Keys, tools, papers, found things.")
def command() -> None:
    """Take a thing into custody, move it, release it, and ask where it is."""


command.add_command(
    row_command(
        "take",
        "custody items",
        ("vehicle", "item", "item_class", "place", "kept_at"),
        "Take a thing into custody: stock number, what it is, its class, where it was found, "
        "where it is put.",
    )
)
command.add_command(
    row_command(
        "move",
        "custody moves",
        ("vehicle", "item", "to", "reason"),
        "Record a movement: stock number, ref of the thing, where or to whom, why; --released-to "
        "where it leaves for good.",
    )
)
command.add_command(list_command(lists_bench.custody, "List things in custody and their moves."))


@reads
@command.command("where")
@click.argument("thing")
def where(thing: str, *, as_json: bool) -> None:
    """Say in one line where THING is now: its ref, or words of it ('spare key')."""
    found = None
    with the_book().reading() as conn:
        found = lists_bench.where(conn, thing)
    if as_json:
        show_json(found)
        return
    for row in found:
        click.echo(f"{row['ref']} {row['item']}: {row['where']}")
