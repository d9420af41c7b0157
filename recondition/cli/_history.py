"""Making, checking and signing work histories; what the command ``history`` is put together of."""

from __future__ import annotations

import sys
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import click

from recondition.cli._progress import shown_progress
from recondition.cli._shared import acting_if_named, show_json, the_book, uses_book, writes

if TYPE_CHECKING:
    from recondition.reports.history_release import Made

DAMAGED = 3


def passphrase() -> str | None:
    """Ask for the passphrase of the key, where somebody can answer."""
    if not sys.stdin.isatty():
        return None
    asked: str = click.prompt("Passphrase of the signing key", hide_input=True, err=True)
    return asked


@writes
@click.command("make")
@click.argument("vehicle")
@click.option("--into", type=click.Path(path_type=Path), required=True, help="Folder to write to.")
@click.option("--locale", metavar="NAME", help="How dates and numbers are written, such as en_US.")
@click.option("--zip", "zipped", is_flag=True, help="Pack the same files into a zip as well.")
@click.option("--trial", is_flag=True, help="A trial copy: no edition is noted.")
def make(vehicle: str, into: Path, locale: str | None, *, zipped: bool, trial: bool) -> None:
    """Write and sign the work history of VEHICLE (a stock number): page, PDF, JSON, evidence.

    It is searched for private figures, names and notes first. Where somebody acts (--as), it is
    noted as an edition; made again unchanged, it is the same edition.
    """
    from recondition.book.keys import open_key  # noqa: PLC0415 - heavy, and only here
    from recondition.reports.history_files import write_release  # noqa: PLC0415 - as above
    from recondition.reports.history_release import Wanted, release  # noqa: PLC0415 - as above

    book, ask = the_book(), cache(passphrase)
    open_key(book, ask)  # asked before the bar is drawn
    with shown_progress() as told:
        wanted = Wanted(
            vehicle=vehicle,
            made_on=book.now().astimezone().date(),
            author=None if trial else acting_if_named(),
            locale=locale,
            into=into,
            told=told,
        )
        made = release(book, wanted, ask)
        paths = write_release(made, into, zipped=zipped)
    for path in paths:
        click.echo(str(path))
    _say(made)
    if made.number is None and not trial:
        click.echo("Say who releases it (--as) to note it as an edition.")


def _say(made: Made) -> None:
    """Say what it is, how it is known again, and what its words should be looked at for."""
    edition = f"Edition {made.number}" if made.number else "A trial copy, no edition"
    click.echo(f"{edition}. Short code {made.code}.")
    click.echo(f"Signed with the key {made.fingerprint}.")
    for passed in made.passed:
        click.echo(f"let pass: {passed}")
    for remark in made.remarks:
        click.echo(f"look at: {remark}")


@click.command("verify")
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--fingerprint", metavar="TEXT", help="Of the maker's key, got some other way.")
@click.option("--code", metavar="TEXT", help="The short code, as printed on paper.")
@click.option("--json", "as_json", is_flag=True, help="The same as JSON.")
@click.pass_context
def verify(
    ctx: click.Context, path: Path, fingerprint: str | None, code: str | None, *, as_json: bool
) -> None:
    """Check a work history without the book: a folder, a zip, the page, the JSON, or one record.

    Says what is proven and what is not. Exit status 3 where something was changed.
    """
    from recondition.reports.checking import checked, said, said_json  # noqa: PLC0415 - heavy

    verdict = checked(path, fingerprint=fingerprint or "", code=code or "")
    if as_json:
        show_json(said_json(path, verdict))
    else:
        click.echo("\n".join(said(path, verdict)))
    if not verdict.holds:
        ctx.exit(DAMAGED)


@click.command("record")
@click.argument("path", type=click.Path(path_type=Path))
@click.argument("name")
@click.option("--into", type=click.Path(path_type=Path), required=True, help="File to write.")
def show_record(path: Path, name: str, into: Path) -> None:
    """Take one record (such as finding/3) out of the page or JSON at PATH, with its proof.

    The file shows that record and nothing of the others; 'history verify' checks it.
    """
    from recondition.reports.checking import one_record  # noqa: PLC0415 - heavy
    from recondition.reports.whole import write_text  # noqa: PLC0415 - as above

    write_text(into, one_record(path, name))
    click.echo(str(into))


@uses_book
@click.command("key")
@click.option("--passphrase", "change", is_flag=True, help="Set, change or take off a passphrase.")
def key(*, change: bool) -> None:
    """Show the fingerprint of the shop's signing key and where it lies; made on first use."""
    from recondition.book.keys import lock_key, open_key, place_of_key, signer  # noqa: PLC0415
    from recondition.history.signing import b64, fingerprint_of  # noqa: PLC0415 - heavy

    book = the_book()
    own = open_key(book, passphrase)
    if change and not sys.stdin.isatty():
        raise click.UsageError("A passphrase is typed at a terminal, where nobody reads along.")  # noqa: EM101, TRY003
    if change:
        new: str = click.prompt(
            "New passphrase (empty for none)",
            hide_input=True,
            confirmation_prompt=True,
            default="",
            show_default=False,
            err=True,
        )
        lock_key(book, own, new)
        click.echo("The passphrase was " + ("set." if new else "taken off."))
    public = signer(own).public
    click.echo(f"Fingerprint: {fingerprint_of(public)}")
    click.echo(f"Public key:  {b64(public)}")
    click.echo(f"It lies at {place_of_key(book)}. Keep a copy of it in a safe place.")
