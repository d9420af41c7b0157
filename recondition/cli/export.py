"""Write the bookkeeper's workbook, and lines and journal as plain files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import click

from recondition.cli._shared import acting_if_named, the_book, writes


@click.group(short_help="The bookkeeper's workbook and plain files.")
def command() -> None:
    """Export figures to files. Who exports is named with --as; that marks a batch.

    A later export of the same kind says what is new or reversed since.
    """


_FILE = click.argument("file", type=click.Path(path_type=Path, dir_okay=False))


def _scoped(made: click.Command) -> click.Command:
    """Add the options that narrow an export."""
    made.params += [
        click.Option(["--period"], metavar="YYYY-MM", help="This month alone."),
        click.Option(["--vehicle", "stock"], metavar="STOCK", help="This vehicle alone."),
    ]
    return writes(made)


@_scoped
@command.command("workbook")
@_FILE
def workbook(file: Path, period: str | None, stock: str | None) -> None:
    """Write lines, journal, cars, invoices, stock, estimates and accounts to FILE (an .xlsx).

    An existing file is replaced whole or not at all.
    """
    from recondition.cli._progress import shown_progress  # noqa: PLC0415 - only here
    from recondition.reports import exporting  # noqa: PLC0415 - heavy, and only here

    export = exporting.Export(
        what=exporting.WORKBOOK, period=period, stock=stock, author_ref=acting_if_named()
    )
    with shown_progress() as progress:
        said = exporting.workbook(the_book(), file, export, progress)
    click.echo("\n".join(said))


def _plain(name: str, words: str) -> Callable[..., None]:
    """Make the command that writes one plain file."""

    @_scoped
    @command.command(name, help=words)
    @_FILE
    @click.option(
        "--columns",
        type=click.Path(path_type=Path, dir_okay=False, exists=True),
        help="A map of the columns to write and their headings ('export columns').",
    )
    def write(file: Path, columns: Path | None, period: str | None, stock: str | None) -> None:
        from recondition.reports import exporting  # noqa: PLC0415 - heavy, and only here

        export = exporting.Export(
            what=name, period=period, stock=stock, author_ref=acting_if_named()
        )
        click.echo("\n".join(exporting.plain_file(the_book(), file, export, columns)))

    return write


_plain("journal", "Write the journal to FILE (a .csv), one row for each side of an entry.")
_plain("lines", "Write every posted line to FILE (a .csv), with all its columns.")


@command.command("columns")
@click.argument("what", type=click.Choice(["journal", "lines"]))
@_FILE
def columns(what: str, file: Path) -> None:
    """Write the map of all columns of journal or lines to FILE (a .csv).

    Cut it down, put it in another order and write your own headings in its second column; then
    name it with --columns.
    """
    from recondition.reports import exporting  # noqa: PLC0415 - heavy, and only here

    exporting.write_map(file, what)
    click.echo(f"The map of columns lies at {file}.")
