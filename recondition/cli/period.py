"""Posting periods: list, close, reopen."""

from __future__ import annotations

import click

from recondition.cli._shared import acting, reads, show, the_book, writes


@click.group(short_help="Posting periods: list, close, reopen.")
def command() -> None:
    """Close months and reopen them. A closed month takes nothing more."""


@reads
@command.command("list")
def listing(*, as_json: bool) -> None:
    """List periods with their state, and who closed or reopened them, when and why."""
    from recondition.reports.lists_books import periods  # noqa: PLC0415 - only here

    book = the_book()
    with book.reading() as conn:
        tables = periods(conn, book.now().astimezone().date())
    show(tables, as_json=as_json)


@writes
@command.command("close")
@click.argument("period", metavar="YYYY-MM")
@click.argument("why", default="month end")
def close(period: str, why: str) -> None:
    """Close a month: its journal is frozen, and what comes later goes to the next open one.

    Sublet work that is back and not invoiced is accrued at its quote, and taken back in the
    month after.
    """
    from recondition.book import closing  # noqa: PLC0415 - heavy, and only here

    event = closing.close(the_book(), period, why, author_ref=acting())
    click.echo(f"period {period}: closed. Debits and credits are {event.debits} each.")
    for each in event.accruals:
        click.echo(f"  accrued: {each.amount} for sublet work back on {each.received_on}.")


@writes
@command.command("reopen")
@click.argument("period", metavar="YYYY-MM")
@click.argument("why")
def reopen(period: str, why: str) -> None:
    """Reopen the last closed month, and say WHY; that stays on record."""
    from recondition.book import closing  # noqa: PLC0415 - heavy, and only here

    closing.reopen(the_book(), period, why, author_ref=acting())
    click.echo(f"period {period}: reopened. The close before it stays on record.")
