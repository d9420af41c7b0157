"""Who may sign in to the pages, links given out, and the trail."""

from __future__ import annotations

import click

from recondition.book.roles import Role
from recondition.cli._shared import reads, show, the_book, uses_book

_ROLE = click.Choice([role.value for role in Role])
_LAST_MOST = 10_000


@click.group(short_help="Who may sign in to the pages.")
def command() -> None:
    """Give and take logins for the pages; list links that were given out, and read the trail.

    A dealer may see and do everything on the pages, a preparer works at the car and sees no
    money, a bookkeeper keeps the books, a seller makes and releases the work history.
    """


@uses_book
@command.command("add")
@click.argument("name")
@click.argument("role", type=_ROLE)
@click.option("--person", required=True, help="Initials of the person whose entries theirs are.")
def add(name: str, role: str, person: str) -> None:
    """Add a login: name, role, --person; prints the token that sets its password."""
    from recondition.book import logins  # noqa: PLC0415 - heavy, and only here

    token = logins.add(the_book(), name, Role(role), person, by=None)
    click.echo(f"login {name}: new, as {role}.")
    _tell_token(token)


@uses_book
@command.command("anew")
@click.argument("name")
def anew(name: str) -> None:
    """Give a login a new token for its password, where that was forgotten."""
    from recondition.book import logins  # noqa: PLC0415 - heavy, and only here

    token = logins.anew(the_book(), name, by=None)
    click.echo(f"login {name}: its password stays as it is until another is set.")
    _tell_token(token)


def _tell_token(token: str) -> None:
    """Print a one-time token, and what it is for."""
    from recondition.book.logins import TOKEN_HOURS  # noqa: PLC0415 - heavy, and only here

    click.echo(f"One-time token: {token}")
    click.echo(
        f"Whoever it is for gives it on the page /set-password within {TOKEN_HOURS} hours and "
        "chooses a password. It works once, and is shown only here."
    )


@uses_book
@command.command("role")
@click.argument("name")
@click.argument("role", type=_ROLE)
def role_(name: str, role: str) -> None:
    """Give a login another role; it counts at once."""
    from recondition.book import logins  # noqa: PLC0415 - heavy, and only here

    logins.change_role(the_book(), name, Role(role), by=None)
    click.echo(f"login {name}: is {role} now.")


@uses_book
@command.command("close")
@click.argument("name")
def close(name: str) -> None:
    """Close a login for good, and end its sessions at once."""
    from recondition.book import logins  # noqa: PLC0415 - heavy, and only here

    logins.close(the_book(), name, by=None)
    click.echo(f"login {name}: closed. What was entered with it stays.")


@reads
@command.command("list")
def list_(*, as_json: bool) -> None:
    """List logins: name, role, whose entries theirs are, and whether they are open."""
    from recondition.reports.logins import login_table  # noqa: PLC0415 - heavy, and only here

    with the_book().reading() as conn:
        tables = login_table(conn)
    show(tables, as_json=as_json)


@reads
@command.command("links")
@click.argument("vehicle", required=False, metavar="[STOCK]")
def links(vehicle: str | None, *, as_json: bool) -> None:
    """List the links to public sheets that were given out, of one vehicle or of all."""
    from recondition.reports.logins import link_table  # noqa: PLC0415 - heavy, and only here

    book = the_book()
    with book.reading() as conn:
        tables = link_table(conn, vehicle, book.now())
    show(tables, as_json=as_json)


@reads
@command.command("trail")
@click.option(
    "--last", type=click.IntRange(1, _LAST_MOST), default=50, show_default=True,
    help="How many rows.",
)  # fmt: skip
def trail(last: int, *, as_json: bool) -> None:
    """Show who did what on the pages and with logins, the newest first."""
    from recondition.reports.logins import trail_table  # noqa: PLC0415 - heavy, and only here

    with the_book().reading() as conn:
        tables = trail_table(conn, last)
    show(tables, as_json=as_json)
