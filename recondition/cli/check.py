"""Check that a book is whole: chain, columns, texts, shares, files, guards."""

from __future__ import annotations

from pathlib import Path
from textwrap import fill

import click

from recondition.cli._shared import WIDTH, reads, show_json, the_book

DAMAGE_FOUND = 3


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
    not prove that the car was as the records say.
    """
    from recondition.book import check  # noqa: PLC0415 - heavy, and only here
    from recondition.intake.anchors import heads_in  # noqa: PLC0415 - as above

    book = the_book()
    examined = check.check(book)
    if against is not None:
        compared = check.against(book, heads_in(against))
        examined.counts.update(compared.counts)
        examined.damages.extend(compared.damages)
    if as_json:
        damages = [{"what": d.what, "where": d.where, "do": d.todo} for d in examined.damages]
        show_json({"looked_at": dict(examined.counts), "damage": damages})
    else:
        counted = ", ".join(f"{count:,} {name}" for name, count in examined.counts.items())
        click.echo(fill(f"Looked at {counted or 'an empty book'}.", WIDTH))
        for damage in examined.damages:
            click.echo(f"Damage: {damage.what}\n  where: {damage.where}\n  do: {damage.todo}")
        if not examined.damages:
            click.echo("No damage was found.")
    ctx.exit(DAMAGE_FOUND if examined.damages else 0)
