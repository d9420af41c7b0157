"""Check that a book is whole: chain, columns, texts, shares, money, stock, files, guards."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING

import click

from recondition.cli import _passphrase
from recondition.cli._shared import WIDTH, location, reads, show_json, the_book

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recondition.book.damage import Damage, Examined
    from recondition.book.engine import Book

DAMAGE_FOUND = 3
_SHOWN = 100
_GUARDS_NAMED = 3


@reads
@click.command(short_help="Check that a book is whole.")
@click.option(
    "--against",
    type=click.Path(path_type=Path),
    help="A workbook, backup or copy whose noted chain heads must still hold.",
)
@click.pass_context
def command(ctx: click.Context, *, against: Path | None, as_json: bool) -> None:
    """Check the whole book; exit status 3 where damage is found.

    Whole means: as it was when its chain heads were last noted outside the book. It does
    not prove that the car was as the records say. A note is no damage.
    """
    from recondition.book import check  # noqa: PLC0415 - heavy, and only here
    from recondition.intake.anchors import heads_in  # noqa: PLC0415 - as above

    examined, book = _examined()
    if against is not None and book is not None:
        examined.add(check.against(book, heads_in(against, _passphrase.given)))
    if as_json:
        show_json(_plain(examined))
    else:
        _show(examined)
    ctx.exit(DAMAGE_FOUND if examined.damages else 0)


def _examined() -> tuple[Examined, Book | None]:
    """Check the book that was named; an older one may be upgraded first."""
    from recondition.book.check import check  # noqa: PLC0415 - heavy, and only here
    from recondition.book.check_opening import check_at  # noqa: PLC0415 - as above
    from recondition.book.errors import BookIsOlder  # noqa: PLC0415 - as above

    try:
        return check_at(location())
    except BookIsOlder:
        book = the_book()
        return check(book), book


def _plain(examined: Examined) -> dict[str, object]:
    """Give what was found as plain values."""
    return {
        "looked_at": examined.looked_at(),
        "damage": [
            {"what": d.what, "where": d.where, "touches": d.touches, "do": d.todo}
            for d in examined.damages
        ],
        "more_damage": examined.more,
        "notes": [{"what": n.what, "where": n.where, "do": n.todo} for n in examined.notes],
    }


def _show(examined: Examined) -> None:
    """Print what was found."""
    counted = ", ".join(f"{count:,} {name}" for name, count in examined.looked_at().items())
    if counted or not examined.damages:
        click.echo(fill(f"Looked at {counted or 'an empty book'}.", WIDTH))
    damages = list(_guards_together(examined.damages))
    for damage in damages[:_SHOWN]:
        _show_one("Damage", damage)
    left = len(damages[_SHOWN:]) + examined.more
    if left:
        click.echo(f"And {left:,} damages more, which are not listed here.")
    for note in examined.notes:
        _show_one("Note", note)
    if not examined.damages:
        click.echo("No damage was found.")


def _guards_together(damages: list[Damage]) -> Iterator[Damage]:
    """Tell of several guards in one, and of all other damages one by one."""
    guards = [damage for damage in damages if damage.guard]
    if len(guards) < 2:  # noqa: PLR2004 - one is told by its name
        yield from damages
        return
    yield from (damage for damage in damages if not damage.guard)
    named = ", ".join(damage.guard for damage in guards[:_GUARDS_NAMED])
    more = " ... (--json names all)" if len(guards) > _GUARDS_NAMED else ""
    what = f"{len(guards)} guards are missing or altered: {named}{more}"
    tables = len({damage.where for damage in guards})
    where = guards[0].where if tables == 1 else f"{tables} tables"
    yield replace(guards[0], what=what, where=where, touches="")


def _show_one(head: str, damage: Damage) -> None:
    """Print one damage or note: what, where, what it touches, what to do."""
    rows = (("  where", damage.where), ("  touches", damage.touches), ("  do", damage.todo))
    click.echo(_wrapped(head, damage.what))
    for name, words in rows:
        if words:
            click.echo(_wrapped(name, words))


def _wrapped(name: str, words: str) -> str:
    """Write one line of it within the width; ids and paths stay whole."""
    return fill(f"{name}: {words}", WIDTH, subsequent_indent="    ",
                break_long_words=False, break_on_hyphens=False)  # fmt: skip
