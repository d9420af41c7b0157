"""The clock of whoever acts: start, pause, take up again, stop."""

from __future__ import annotations

import click

from recondition.cli._shared import acting, reads, show, show_stops, the_book, writes


@click.group(short_help="Start, pause and stop your clock.")
def command() -> None:
    """Keep your hours by the clock. One clock a person; what it is on goes to the line."""


_AT = click.option("--at", metavar="TIME", help="When, if not now: 17:30, or with its day.")


@writes
@command.command("start")
@click.argument("vehicle")
@click.argument("words")
@click.option("--findings", "links", metavar="REFS", help="Findings it serves, with weights.")
@click.option("--no-finding-because", "unlinked", metavar="TEXT", help="Why it serves none.")
@click.option("--candidate", metavar="REF", help="Candidate work it carries out.")
@click.option("--panel", metavar="TEXT", help="Panel worked on.")
@click.option("--operation", metavar="TEXT", help="What kind of work.")
@click.option("--does-again", "rework__of", metavar="LINE", help="Line whose work is done again.")
@click.option("--cause", "rework__cause", metavar="TEXT", help="Why it is done again.")
@click.option("--who-pays", "rework__payer", metavar="TEXT", help="shop, supplier or owner.")
@click.option("--film-it-takes", "film_removal", metavar="UM", help="Film it is to take, um.")
@click.option("--override-because", "override", metavar="TEXT", help="Reason, where stopped.")
@_AT
def start(vehicle: str, words: str, at: str | None, **more: str | None) -> None:
    """Start your clock on VEHICLE for what WORDS say."""
    from recondition.intake import clocking  # noqa: PLC0415 - heavy, and only here

    values = {"vehicle": vehicle, "words": words}
    values |= {name.replace("__", "."): text for name, text in more.items() if text}
    click.echo(clocking.start(the_book(), values, author_ref=acting(), at=at))


@writes
@command.command("pause")
@_AT
def pause(at: str | None) -> None:
    """Pause your clock."""
    from recondition.intake import clocking  # noqa: PLC0415 - heavy, and only here
    from recondition.ledger.clocks import Tick  # noqa: PLC0415 - as above

    click.echo(clocking.turn(the_book(), Tick.PAUSE, author_ref=acting(), at=at))


@writes
@command.command("resume")
@_AT
def resume(at: str | None) -> None:
    """Take your paused clock up again."""
    from recondition.intake import clocking  # noqa: PLC0415 - heavy, and only here
    from recondition.ledger.clocks import Tick  # noqa: PLC0415 - as above

    click.echo(clocking.turn(the_book(), Tick.RESUME, author_ref=acting(), at=at))


@writes
@command.command("stop")
@click.option("--override-because", "override", metavar="TEXT", help="Reason, where stopped.")
@_AT
def stop(at: str | None, override: str | None) -> None:
    """Stop your clock; its hours are posted as labour."""
    from recondition.intake import clocking  # noqa: PLC0415 - heavy, and only here

    said, vehicle = clocking.stop(the_book(), author_ref=acting(), at=at, override=override)
    click.echo(said)
    show_stops([vehicle] if vehicle else [])


@writes
@command.command("drop")
@click.argument("why")
def drop(why: str) -> None:
    """End your clock without posting hours, and say WHY; it stays on record."""
    from recondition.intake import clocking  # noqa: PLC0415 - heavy, and only here

    click.echo(clocking.drop(the_book(), why, author_ref=acting()))


@reads
@command.command("show")
def show_open(*, as_json: bool) -> None:
    """Show every open clock, and ask about those that look forgotten."""
    from recondition.intake import clocking  # noqa: PLC0415 - heavy, and only here
    from recondition.reports.table import Column, Table  # noqa: PLC0415 - as above

    headings = ("Clock", "Person", "Vehicle", "On", "Stands")
    columns = tuple(Column(heading.lower(), heading) for heading in headings)
    rows = tuple(clocking.shown(the_book()))
    note = "" if rows else "No clock is open."
    show([Table("Open clocks", columns, rows, note)], as_json=as_json)
