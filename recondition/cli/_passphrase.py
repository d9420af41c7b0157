"""Asking for the passphrase of a backup: from the environment, else at the terminal."""

from __future__ import annotations

import sys

import click

WHERE_TYPED = (
    "A passphrase is typed at a terminal, where nobody reads along, or stands in "
    "RECONDITION_PASSPHRASE."
)


def given() -> str | None:
    """Give the passphrase of a backup that is there; None where nobody can be asked."""
    from recondition.book.sealing import passphrase_given  # noqa: PLC0415 - heavy, and only here

    known = passphrase_given()
    if known is not None or not sys.stdin.isatty():
        return known
    asked: str = click.prompt("Passphrase of the backup", hide_input=True, err=True)
    return asked


def new() -> str:
    """Give the passphrase for a new backup, typed twice. Raises UsageError."""
    from recondition.book.sealing import passphrase_given  # noqa: PLC0415 - heavy, and only here

    known = passphrase_given()
    if known is not None:
        return known
    if not sys.stdin.isatty():
        raise click.UsageError(WHERE_TYPED)
    asked: str = click.prompt(
        "Passphrase for the backup", hide_input=True, confirmation_prompt=True, err=True
    )
    return asked
