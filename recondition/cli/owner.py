"""An owner's job: approvals, the limit, the quote before and the invoice after."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from recondition.cli._rows import Besides, row_command
from recondition.cli._shared import acting, reads, show, the_book, uses_book, writes

if TYPE_CHECKING:
    from collections.abc import Mapping

    from recondition.book import Connection
    from recondition.book.engine import Book
    from recondition.book.posting import Result
    from recondition.ledger.approvals import OwnerInvoice


@click.group(short_help="An owner's job: approvals, limit, quote, invoice.")
def command() -> None:
    """Keep what an owner allowed, and write the quote and the invoice."""


def _agreed(book: Book, values: Mapping[str, str], **how: Any) -> list[Result]:  # noqa: ANN401 - as given
    """Enter an owner's answer, and that they agree to what cannot be undone."""
    from recondition.intake.owners import answered  # noqa: PLC0415 - heavy, and only here

    return answered(book, values, agreed=True, **how)


command.add_command(
    row_command(
        "approve",
        "approvals",
        ("vehicle", "candidates", "amount", "how", "by"),
        "Enter an owner's answer: stock number, candidate work, amount, how it was given "
        "(signature, message, in person, telephone), who gave it. --limit states what may be "
        "billed in all; --answer declined where the owner said no.",
        Besides("agreed", "They also agree to what cannot be undone in that work.", _agreed),
    )
)
command.add_command(
    row_command(
        "ask",
        "change requests",
        ("vehicle", "candidates", "amount", "words"),
        "Note that an owner is asked about work found on the way: stock number, candidate work, "
        "amount, why.",
    )
)

_INTO = click.option(
    "--into", type=click.Path(path_type=Path), required=True, help="Write the page here."
)


@reads
@command.command("limit")
@click.argument("vehicle")
def limit(vehicle: str, *, as_json: bool) -> None:
    """Show billed, committed and still to come against the owner's limit."""
    from recondition.reports.owner import limit_tables  # noqa: PLC0415 - heavy, and only here

    with the_book().reading() as conn:
        tables = limit_tables(conn, vehicle)
    show(tables, as_json=as_json)


@uses_book
@command.command("quote")
@click.argument("vehicle")
@_INTO
def quote(vehicle: str, into: Path) -> None:
    """Write a quote to print: the work, its ranges, and what may not be passed."""
    from recondition.reports import owner  # noqa: PLC0415 - heavy, and only here
    from recondition.reports.whole import write_text  # noqa: PLC0415 - as above

    book = the_book()
    with book.reading() as conn:
        page = owner.quote(conn, vehicle, made_at=book.now().astimezone())
    write_text(into, page)
    click.echo(f"The quote lies at {into}.")


@writes
@command.command("invoice")
@click.argument("vehicle")
@_INTO
@click.option("--preview", is_flag=True, help="Write the page and post nothing.")
def invoice(vehicle: str, into: Path, *, preview: bool) -> None:
    """Bill what is not billed yet, and write the invoice to print."""
    from recondition.book import owed  # noqa: PLC0415 - heavy, and only here
    from recondition.intake import owners  # noqa: PLC0415 - as above
    from recondition.reports.owner import invoice_page  # noqa: PLC0415 - as above
    from recondition.reports.whole import write_text  # noqa: PLC0415 - as above

    book = the_book()
    made_at = book.now().astimezone()

    def write(conn: Connection, entry: OwnerInvoice, number: str) -> None:
        write_text(into, invoice_page(conn, vehicle, entry, number, made_at=made_at))

    if preview:
        with book.reading() as conn:
            write(conn, owed.unbilled(conn, vehicle, made_at.date()), "Preview")
        click.echo(f"A preview lies at {into}; nothing was posted.")
        return
    number = owners.invoice(
        book, vehicle, author_ref=acting(), issued_on=made_at.date(), write=write
    )
    click.echo(f"owner invoice {number}: new. It lies at {into}.")


@writes
@command.command("supplies")
@click.argument("vehicle")
def supplies(vehicle: str) -> None:
    """Charge a job what is due for shared supplies by the shop's rule."""
    from recondition.intake import owners  # noqa: PLC0415 - heavy, and only here

    click.echo(owners.supplies(the_book(), vehicle, author_ref=acting()))


@writes
@command.command("minimum")
@click.argument("vehicle")
def minimum(vehicle: str) -> None:
    """Bill what is missing to the shop's minimum charge."""
    from recondition.intake import owners  # noqa: PLC0415 - heavy, and only here

    click.echo(owners.minimum(the_book(), vehicle, author_ref=acting()))
