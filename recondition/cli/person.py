"""Add and list people and their rates, and erase a person's name."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.cli._shared import acting, the_book, writes
from recondition.reports import lists


@click.group(short_help="People and their rates.")
def command() -> None:
    """Add people and their hourly rates, list them, or erase a person's name."""


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


@writes
@command.command("erase")
@click.argument("person")
@click.option("--ground", default="", help="On what ground, such as 'request of 4 March'.")
def erase(person: str, ground: str) -> None:
    """Erase a person's name, contact and initials; the chain holds and says 'erased'."""
    from recondition.book.people import erase_person  # noqa: PLC0415 - heavy, and only here
    from recondition.book.reading import id_of  # noqa: PLC0415 - as above

    book = the_book()
    with book.reading() as conn:
        author = id_of(conn, "person", acting())
    count = erase_person(book, person, author=author, ground=ground)
    click.echo(f"{count} texts were erased. What they were cannot be recovered from the book.")
