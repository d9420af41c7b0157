"""Keep a document or photograph with a vehicle, by the hash of its content."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
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
