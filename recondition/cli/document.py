"""Keep a document or photograph with a vehicle, by the hash of its content."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.cli._shared import acting, the_book, writes
from recondition.reports import lists


@click.group(short_help="Keep documents and photographs.")
def command() -> None:
    """Keep documents and photographs; the original bytes stay untouched and private."""


command.add_command(
    row_command(
        "add",
        "documents",
        ("vehicle", "file", "kind", "title"),
        "Keep a file: stock number, file, what it is (photograph, invoice, ...), title.",
    )
)
command.add_command(list_command(lists.documents, "List kept files."))


@writes
@command.command("photos")
@click.argument("vehicle")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--zone", default="", metavar="+HH:MM", help="Zone of the camera's clock.")
@click.option("--camera-ahead", metavar="TEXT", help="By how much its clock was ahead: '3 min'.")
@click.option("--panel", metavar="TEXT", help="The panel that all of them show.")
@click.option("--finding", metavar="REF", help="The finding that all of them show.")
@click.option("--who-may-see-it", "visibility", metavar="TEXT", help="evidence, listing or both.")
def photos(vehicle: str, folder: Path, zone: str, **given: str | None) -> None:
    """Keep all photographs of FOLDER with VEHICLE (stock number), all or nothing."""
    from recondition.intake.photographs import keep_folder  # noqa: PLC0415 - heavy, only here

    values = {field: text for field, text in given.items() if text}
    results = keep_folder(the_book(), vehicle, folder, values, author_ref=acting(), zone=zone)
    for status, count in Counter(result.status.value for result in results).items():
        click.echo(f"photographs: {count} {status}")
