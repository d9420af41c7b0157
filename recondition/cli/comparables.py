"""Sales of like vehicles, and the price as it stands that follows."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.cli._shared import reads, show, the_book, wall_clock
from recondition.reports import lists_worth


@click.group(short_help="Sales of like vehicles, and the as-is price from them.")
def command() -> None:
    """Bring sales of like vehicles, and estimate what a vehicle fetches as it stands."""


command.add_command(
    row_command(
        "add",
        "comparables",
        ("vehicle", "what"),
        "Add a sale of a like vehicle: stock number it is for, what was sold; or the vehicle's "
        "own features with --row-is 'this vehicle'.",
    )
)
command.add_command(list_command(lists_worth.comparables, "List comparables."))


@reads
@command.command("estimate")
@click.argument("vehicle")
@click.option("--terms", default="", metavar="TERM,TERM", help="What to fit; 'sold' is the year.")
@click.option("--base-year", type=int, help="Year whose money is meant; this year without it.")
def estimate(vehicle: str, terms: str, base_year: int | None, *, as_json: bool) -> None:
    """Estimate what VEHICLE (stock number) fetches as it stands, with intervals."""
    from recondition.book.questions import comparables_of, vehicle_of  # noqa: PLC0415 - heavy
    from recondition.reports import as_is, worth_more  # noqa: PLC0415 - as above
    from recondition.worth.comparables import estimate as fitted  # noqa: PLC0415 - as above

    wanted = [term.strip().casefold() for term in terms.split(",") if term.strip()]
    with the_book().reading() as conn:
        car = vehicle_of(conn, vehicle)
        sales, own, rows = comparables_of(conn, car)
    found = fitted(sales, own, wanted, base_year or wall_clock().year)
    printed = worth_more.organiser(rows)
    more = [printed] if printed.rows else []
    show([*as_is.tables(found, wanted), *more], as_json=as_json)
