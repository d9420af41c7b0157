"""Try a restore out: lay a backup out, check it, say what it would lose, take it away."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from recondition.cli import _passphrase
from recondition.cli._shared import location, reads, show_json

if TYPE_CHECKING:
    from recondition.book.engine import Book
    from recondition.book.rehearsing import Rehearsal

DAMAGE_FOUND = 3


@reads
@click.command(short_help="Try out whether a backup can be restored.")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.pass_context
def command(ctx: click.Context, file: Path, *, as_json: bool) -> None:
    """Restore the backup FILE in a temporary folder, check it, and take it away again.

    It is compared with the book that --book names, where there is one: how many records are
    newer there, and whether both are one history. Nothing of that book is changed. Exit status
    3 where the backup is damaged, of another history, or has what the book lacks. TMPDIR names
    another temporary folder.
    """
    from recondition.book.rehearsing import rehearse  # noqa: PLC0415 - heavy, and only here

    found = rehearse(file, _in_use, _passphrase.given)
    if as_json:
        show_json(_plain(found))
    else:
        click.echo("\n".join(_said(found, file)))
    ctx.exit(DAMAGE_FOUND if found.damages or found.parted or found.lacking else 0)


def _in_use() -> Book:
    """Open the book to compare with."""
    from recondition.book.engine import open_book  # noqa: PLC0415 - heavy, and only here

    return open_book(location())


def _said(found: Rehearsal, file: Path) -> list[str]:
    """Say what a rehearsal found, in lines."""
    lines = [f"Damage: {d.what}\n  where: {d.where}\n  do: {d.todo}" for d in found.damages]
    if found.records or not found.damages:
        made = f"made at {found.made_at}" if found.made_at else "of a moment that it does not say"
        lines.insert(0, f"The backup {file}, {made}, with schema {found.schema}, holds "
                     f"{found.records:,} records in {found.chains:,} chains and {found.files:,} "
                     "kept files.")  # fmt: skip
    if not found.damages:
        took = f"{found.seconds:.1f} seconds, checking included"
        lines.append(f"It can be restored: that took {took}.")
    lines += [f"Another history: {d.what}\n  where: {d.where}" for d in found.parted]
    lines += [f"Lacking: {d.what}\n  where: {d.where}\n  do: {d.todo}" for d in found.lacking]
    if found.newer is not None and not found.parted and not (found.lacking and not found.newer):
        more = "1 record" if found.newer == 1 else f"{found.newer:,} records"
        lines.append(
            f"The book in use has {more} more, which a restore would not have."
            if found.newer
            else "The book in use has no record that the backup has not."
        )
    if found.not_compared:
        lines.append(f"It was compared with no book: {found.not_compared}")
    return lines


def _plain(found: Rehearsal) -> dict[str, object]:
    """Give the same for machines."""
    damages, parted, lacking = (
        [{"what": each.what, "where": each.where, "do": each.todo} for each in listed]
        for listed in (found.damages, found.parted, found.lacking)
    )
    return {
        "made_at": found.made_at, "schema": found.schema, "records": found.records,
        "chains": found.chains, "files": found.files, "seconds": f"{found.seconds:.3f}",
        "newer_in_the_book": found.newer, "damage": damages, "another_history": parted,
        "lacking_in_the_book": lacking, "not_compared": found.not_compared,
    }  # fmt: skip
