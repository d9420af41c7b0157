"""Make a book, choose its settings, upgrade it."""

from __future__ import annotations

import click

from recondition.cli._rows import row_command
from recondition.cli._shared import location, the_book, uses_book
from recondition.cli._shared import upgrade as upgrade_with_copy


@click.group(short_help="Make a book, set it up, upgrade it.")
def command() -> None:
    """Make a new book, choose its settings, or bring an older one up to date."""


@uses_book
@command.command("create")
@click.option("--currency", required=True, help="Home currency, such as USD; fixed from then on.")
@click.option("--person", required=True, help="Initials of the first person, who acts.")
@click.option("--name", required=True, help="That person's name.")
@click.option("--role", default="preparer", show_default=True, help="What the person does.")
def create(currency: str, person: str, name: str, role: str) -> None:
    """Make a new, empty book with its currency and its first person."""
    from recondition.book.errors import shown  # noqa: PLC0415 - as below
    from recondition.book.starting import start_book  # noqa: PLC0415 - heavy, and only here

    start_book(location(), currency=currency, person=person, name=name, role=role).close()
    click.echo(f"The book lies at {shown(location())}. Enter as {person} with --as {person}.")


command.add_command(
    row_command("set", "settings", ("ref", "value"), "Choose a setting, such as 'shop name'.")
)


@uses_book
@command.command("upgrade")
def upgrade() -> None:
    """Bring an older book to the newest schema; a backup copy is made first."""
    from recondition.book.engine import open_any, version_of  # noqa: PLC0415 - heavy
    from recondition.book.schema import NEWEST  # noqa: PLC0415 - as above

    book = open_any(location())
    if version_of(book) == NEWEST:
        click.echo("The book has the newest schema already.")
        return
    upgrade_with_copy(book)
    the_book().close()
