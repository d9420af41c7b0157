"""Make a book, choose its settings, copy it, upgrade it."""

from __future__ import annotations

import click

from recondition.cli._beside import where_the_key_goes
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


@command.command("copy")
@click.argument("source", metavar="FROM")
@click.argument("to", metavar="TO")
def copy(source: str, to: str) -> None:
    """Copy the book FROM, with its files, to the free place TO: paths or PostgreSQL URLs.

    Others may go on writing in FROM; what they enter meanwhile is not in the copy. Every row is
    compared, every record is followed along its chain, and every kept file by its hash. TO
    appears whole or not at all.
    """
    from recondition.book.copying import copy_book  # noqa: PLC0415 - heavy, and only here
    from recondition.book.engine import files_of  # noqa: PLC0415 - as above
    from recondition.book.errors import shown  # noqa: PLC0415 - as above
    from recondition.book.schema import NEWEST  # noqa: PLC0415 - as above

    found = copy_book(source, to)
    click.echo(
        f"The copy lies at {shown(to)}. Compared: {found.records:,} records in {found.chains:,} "
        f"chains, {found.files:,} kept files (in {files_of(to)})."
    )
    for line in where_the_key_goes(to):
        click.echo(line)
    if found.schema != NEWEST:
        click.echo(f"It has schema {found.schema} as before: 'recondition book upgrade' is next.")


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


@uses_book
@command.command("downgrade")
@click.option("--to", "revision", required=True, help="An older schema, such as 0006.")
def downgrade(revision: str) -> None:
    """Take a book back to an older schema where nothing of the later ones is in use."""
    from recondition.book.engine import open_any  # noqa: PLC0415 - heavy
    from recondition.book.lowering import downgrade_with_copy  # noqa: PLC0415 - as above

    copy = downgrade_with_copy(open_any(location()), revision)
    click.echo(f"A copy of the book as it was lies at {copy}.")
    click.echo(f"The book has schema {revision} now, for the version of recondition that had it.")
