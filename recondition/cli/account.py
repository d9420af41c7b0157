"""The account map: which account each kind of posting goes to."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.reports import lists_books


@click.group(short_help="The account map of the journal.")
def command() -> None:
    """Say which account of your own chart each kind of posting goes to, from a day on."""


command.add_command(
    row_command(
        "set",
        "accounts",
        ("role", "code", "name"),
        "Send a kind of posting to an account: what goes there, code, name. --from says since "
        "when.",
    )
)
command.add_command(list_command(lists_books.accounts, "List the account map.", of_vehicle=False))
