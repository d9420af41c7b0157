"""Write a backup: the book, its files and its chain heads in one file."""

from __future__ import annotations

from pathlib import Path

import click

from recondition.cli import _passphrase
from recondition.cli._shared import the_book, uses_book


@uses_book
@click.command(short_help="Write a backup of the book and its files.")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--encrypt", is_flag=True, help="Under a passphrase; also in RECONDITION_PASSPHRASE.")
def command(file: Path, *, encrypt: bool) -> None:
    """Write a backup to FILE, which must not be there yet. It is checked after writing.

    Others may go on writing meanwhile. A backup of a book on either engine can be restored on
    either. Encrypted, it is a zip of two files in the open age format: 'key.age' opens with the
    passphrase, and 'backup.age' with the identity that is in it. Without its passphrase nobody
    can open it, and nobody can help.
    """
    from recondition.book.backup import backup  # noqa: PLC0415 - heavy, and only here
    from recondition.book.sealing import passphrase_given  # noqa: PLC0415 - as above

    passphrase = _passphrase.new() if encrypt else None
    count = backup(the_book(), file, passphrase)
    kept = "1 kept file" if count == 1 else f"{count} kept files"
    how = "it is encrypted, and was opened again and checked" if encrypt else "it was checked"
    click.echo(f"The backup lies at {file}, with {kept}; {how}.")
    if not encrypt and passphrase_given() is not None:
        click.echo("It is not encrypted: RECONDITION_PASSPHRASE is used with --encrypt alone.")
