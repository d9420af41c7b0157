"""Parts and sublet work on order: quoted, ordered, received, sent back."""

from __future__ import annotations

from datetime import datetime

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.cli._shared import acting, the_book, writes
from recondition.reports import lists_orders


@click.group(short_help="Parts and sublet work on order.")
def command() -> None:
    """Keep quotes and orders of parts and sublet work until the line that they lead to."""


command.add_command(
    row_command(
        "add",
        "orders",
        ("vehicle", "what", "name"),
        "Note a quote or an order: stock number, part or sublet, what it is. --ordered-on, "
        "--promised-on and --quoted say the rest.",
    )
)
command.add_command(list_command(lists_orders.orders, "List orders, with quote against invoice."))
command.add_command(
    list_command(
        lists_orders.parts,
        "List parts and where each one is.",
    ),
    "parts",
)


def _step(name: str, field: str, words: str) -> click.Command:
    """Make the command that dates one step of an order."""

    def step(order: str, day: str | None) -> None:
        from recondition.intake.ordering import dated  # noqa: PLC0415 - heavy, and only here

        today = datetime.now().astimezone().date().isoformat()
        made = dated(the_book(), order, field, day or today, author_ref=acting())
        click.echo(f"order {order}: {made.value}, {name}")

    params: list[click.Parameter] = [
        click.Argument(["order"]),
        click.Option(["--on", "day"], metavar="DATE", help="Which day; empty: today."),
    ]
    return writes(click.Command(name, callback=step, params=params, help=words))


for _name, _field, _words in (
    ("placed", "ordered_on", "Say that ORDER was placed, or that the work left the shop."),
    ("received", "received_on", "Say that ORDER came, or that the work is back."),
    ("returned", "returned_on", "Say that ORDER went back unused."),
):
    command.add_command(_step(_name, _field, _words))
