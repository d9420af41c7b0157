"""The commands that show and take away what is kept about a person or a supplier."""

from __future__ import annotations

import json
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from recondition.cli._shared import acting, the_book, uses_book, writes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from recondition.book.engine import Book
    from recondition.book.mentions import Mention, Names

_NAMED_AT_MOST = 20
_GROUND = click.option(
    "--ground", default="", help="On what ground, such as 'request of 4 March'; without the name."
)
_COPIES = (
    "Backups, copies and exports made before still hold them. Whether something must be kept, or "
    "must go, is for a lawyer to say."
)


def _author(book: Book) -> str:
    """Give the id of the person who acts."""
    from recondition.book.reading import id_of  # noqa: PLC0415 - heavy, and only here

    with book.reading() as conn:
        return id_of(conn, "person", acting())


def add_to(group: click.Group, kind: str) -> None:
    """Add what shows and erases records of a kind; texts of any kind stand with people."""
    group.add_command(_export(kind))
    group.add_command(_erase(kind))
    if kind == "person":
        group.add_command(_erase_text())
        group.add_command(_wipe())


def _export(kind: str) -> click.Command:
    @uses_book
    @click.command("export", help=f"Write all that the book holds about a {kind} into a file.")
    @click.argument("ref", metavar=kind.upper())
    @click.option(
        "--into", "to", type=click.Path(path_type=Path), required=True, help="A new .json file."
    )
    def export(ref: str, to: Path) -> None:
        from recondition.book.about import about  # noqa: PLC0415 - heavy, and only here
        from recondition.reports.whole import write_text  # noqa: PLC0415 - as above

        book = the_book()
        with book.reading() as conn:
            found = about(conn, kind, ref)
        write_text(to, json.dumps(found, ensure_ascii=False, indent=2) + "\n")
        click.echo(
            f"{to} holds {len(found['is'])} versions of {ref}, {len(found['named in'])} records "
            f"that name {ref}, {len(found['entered'])} that {ref} entered, and "
            f"{len(found['mentioned in'])} other places in which the name stands. They may speak "
            "of others too: look through them before you hand the file on."
        )

    return export


def _erase(kind: str) -> click.Command:
    @writes
    @click.command("erase", help=f"Erase a {kind}'s name, contact and ref; the chain holds.")
    @click.argument("ref", metavar=kind.upper())
    @_GROUND
    @click.option("--texts", is_flag=True, help="Erase other free texts with the whole name too.")
    @click.option(
        "--keep-until",
        type=click.DateTime(["%Y-%m-%d"]),
        help="What law asks to keep until a day: hide it everywhere, and erase later.",
    )
    def erase(ref: str, *, ground: str, texts: bool, keep_until: datetime | None) -> None:
        book = the_book()
        if keep_until is not None:
            _restricted(book, kind, ref, ground, keep_until.date())
            return
        _erased(book, kind, ref, ground, texts=texts)

    return erase


def _restricted(book: Book, kind: str, ref: str, ground: str, until: date) -> None:
    """Restrict somebody, and say what that means."""
    from recondition.book.people import restrict_person  # noqa: PLC0415 - heavy, and only here

    author = _author(book)
    who, names = _named(book, kind, ref)
    new = restrict_person(book, ref, author=author, ground=ground, until=until, kind=kind)
    click.echo(
        f"{ref} is called {new} from now on; no list, report or export names them. The texts stay "
        f"in the book until {until}: from the day after, '{kind} erase {new} --ground ...' deletes "
        "them."
    )
    _tell(book, who, names)
    click.echo(_COPIES)


def _erased(book: Book, kind: str, ref: str, ground: str, *, texts: bool) -> None:
    """Erase somebody, and say what is left."""
    from recondition.book.people import erase_person  # noqa: PLC0415 - heavy, and only here

    author = _author(book)
    who, names = _named(book, kind, ref)
    count = erase_person(book, ref, author=author, ground=ground, kind=kind, texts=texts)
    click.echo(_gone(count))
    _swept(book)
    _tell(book, who, names)
    _wiped(book)


def _named(book: Book, kind: str, ref: str) -> tuple[str, Names]:
    """Give whom a ref names, and what they are called until they are erased."""
    from recondition.book.mentions import names_of  # noqa: PLC0415 - heavy, and only here
    from recondition.book.reading import id_of  # noqa: PLC0415 - as above

    with book.reading() as conn:
        who = id_of(conn, kind, ref)
        return who, names_of(conn, who, ref)


def _gone(count: int) -> str:
    """Say how many texts were erased."""
    if count == 1:
        return "1 text was erased. What it was cannot be recovered from the book."
    return f"{count} texts were erased. What they were cannot be recovered from the book."


def _tell(book: Book, who: str, names: Names) -> None:
    """Say where else a name stands, and what can be done about it."""
    from recondition.book.mentions import mentions  # noqa: PLC0415 - heavy, and only here

    with book.reading() as conn:
        found: list[Mention] = mentions(conn, names, who)
    for mention in found[:_NAMED_AT_MOST]:
        place = f"{mention.kind} {mention.ref}, {mention.field}, version {mention.version}"
        if mention.fixed:
            click.echo(f"The name is fixed in the chain and stays: {place}")
        else:
            sure = "The name stands in" if mention.sure else "A word of the name stands in"
            click.echo(f"{sure}: {place}")
    more = len(found) - _NAMED_AT_MOST
    if more > 0:
        click.echo(f"... and in {more} more {'place' if more == 1 else 'places'}.")
    if any(not mention.fixed for mention in found):
        click.echo("Erase such a text with 'person erase-text KIND REF FIELD --ground ...'.")


def _erase_text() -> click.Command:
    @writes
    @click.command("erase-text")
    @click.argument("kind")
    @click.argument("ref")
    @click.argument("field")
    @_GROUND
    def erase_text(kind: str, ref: str, field: str, ground: str) -> None:
        """Erase one free text of any record, such as 'sale Y-001 buyer', or a document's file."""
        from recondition.book import people  # noqa: PLC0415 - heavy, and only here

        book = the_book()
        erased = people.erase_text(book, (kind, ref, field), author=_author(book), ground=ground)
        click.echo(_gone(erased.count))
        _swept(book)
        _left(book, erased.left)
        _wiped(book)

    return erase_text


def _swept(book: Book) -> None:
    """Delete kept work histories in which something was erased, and say so."""
    from recondition.web.released import sweep  # noqa: PLC0415 - heavy, and only here

    gone = sweep(book)
    if gone:
        kept = "1 released work history" if gone == 1 else f"{gone} released work histories"
        click.echo(f"{kept} showed it, and went from the folder of what is kept for links.")


def _left(book: Book, files: Sequence[Path]) -> None:
    """Say where erased files still lie."""
    from recondition.book.wiping import owns_files  # noqa: PLC0415 - heavy, and only here

    for path in files:
        if owns_files(book):
            words = "others are at work in the book; run 'recondition person wipe' later."
        else:
            words = "delete it by hand if no other book needs it."
        click.echo(f"The file still lies at {path}: {words}")


def _wipe() -> click.Command:
    @uses_book
    @click.command("wipe")
    def wipe() -> None:
        """Overwrite what erased texts left in the book's file, and delete files left of them."""
        from recondition.book.wiping import sweep  # noqa: PLC0415 - heavy, and only here

        book = the_book()
        swept = sweep(book)
        if swept:
            files = "1 erased file" if swept == 1 else f"{swept} erased files"
            click.echo(f"{files} still lay beside the book and went.")
        _wiped(book, "Nothing that was erased is left in unused parts of the book. ")

    return wipe


def _wiped(book: Book, done: str = "") -> None:
    """Overwrite what erased texts left, and say how that went and what is beyond reach."""
    from recondition.book.wiping import wipe  # noqa: PLC0415 - heavy, and only here

    if wipe(book):
        click.echo(done, nl=False)
    else:
        click.echo(
            "Others are at work in the book, or the disk is full: what they were may still lie in "
            "unused parts of its file. Run 'recondition person wipe' later."
        )
    server = "" if book.path else "So may the server's own log, with whoever runs the server. "
    click.echo(server + _COPIES)
