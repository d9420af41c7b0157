"""Make the work history that a seller attaches to a listing."""

from __future__ import annotations

from pathlib import Path

import click

from recondition.cli._history import key, make, passphrase, show_record, verify
from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.cli._shared import acting, the_book, writes
from recondition.reports import lists_history


@click.group(short_help="The work history for a listing.")
def command() -> None:
    """Make the work history of a vehicle: what a careful buyer may know."""


command.add_command(
    row_command(
        "consent",
        "consents",
        ("shows", "given_by"),
        "Note a consent: what may be shown (hours, person, firm, product names), who agreed and "
        "how. It holds for every vehicle unless --vehicle names one; --person or --firm says who "
        "may be named. To withdraw it, enter it again with its --ref, --given and --withdrawn.",
    )
)
command.add_command(
    row_command(
        "hide",
        "redactions",
        ("document", "from_left", "from_top", "width", "height", "why"),
        "Paint over a place on a picture before a buyer sees it: document, where the place begins "
        "from the left and the top, its width and height (all in percent of the upright picture), "
        "why. The kept file stays as it is. To take it back, enter it again with its --ref and "
        "--off yes.",
    )
)
command.add_command(
    list_command(lists_history.consents, "List what may be shown, and who agreed."), "consents"
)
command.add_command(
    list_command(lists_history.editions, "List editions, and what became of each."), "editions"
)


command.add_command(make)
command.add_command(verify)
command.add_command(show_record)
command.add_command(key)


@writes
@command.command("let-pass")
@click.argument("vehicle")
@click.argument("code")
@click.argument("reason")
def let_pass(vehicle: str, code: str, reason: str) -> None:
    """Let one hit stand that stopped a release of VEHICLE, by its CODE, and say the REASON."""
    from recondition.book import editions  # noqa: PLC0415 - heavy, and only here

    book = the_book()
    on = book.now().astimezone().date()
    ref = editions.let_pass(book, acting(), vehicle, code, reason=reason, on=on)
    click.echo(f"let pass {ref}: new")


@writes
@command.command("withdraw")
@click.argument("vehicle")
@click.argument("number", type=int)
@click.argument("reason")
@click.option("--on", "day", metavar="DATE", help="Day of the withdrawal; empty: today.")
@click.option("--into", type=click.Path(path_type=Path), help="Folder of it, for a signed notice.")
def withdraw(vehicle: str, number: int, reason: str, day: str | None, into: Path | None) -> None:
    """Withdraw edition NUMBER of VEHICLE, and say the REASON, which a buyer may read.

    With --into, a signed notice is put beside what was handed out; also later, if the edition
    was withdrawn before.
    """
    from recondition.book import editions  # noqa: PLC0415 - heavy, and only here
    from recondition.book.admission_history import WithdrawnAlready  # noqa: PLC0415 - as above
    from recondition.book.reversing import day_of  # noqa: PLC0415 - as above
    from recondition.reports.history_release import (  # noqa: PLC0415 - as above
        refuse_private,
        write_withdrawal,
    )

    book = the_book()
    on = day_of(day) if day else None
    refuse_private(book, vehicle, "the reason", reason)
    try:
        noted = editions.withdraw(book, acting(), vehicle, number, reason=reason, on=on)
    except WithdrawnAlready as error:
        if into is None:
            raise
        click.echo(f"{error.what}\nThe notice says what was said then.")
    else:
        told = noted.entry.withdrawn_on.isoformat()
        click.echo(f"edition {number} of vehicle {vehicle}: withdrawn on {told}")
    if into is not None:
        click.echo(str(write_withdrawal(book, vehicle, number, into, passphrase)))
