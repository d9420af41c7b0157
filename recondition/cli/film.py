"""Film thickness: gauges, readings, headroom, sampling."""

from __future__ import annotations

import click

from recondition.cli._rows import row_command
from recondition.cli._shared import reads, show, the_book


@click.group(short_help="Film readings and headroom.")
def command() -> None:
    """Record readings of the total film and see what may still be taken off.

    recondition film add 0007 bonnet "104 108 111 106 118" --instrument G1 --place centre
    """


command.add_command(
    row_command(
        "instrument",
        "instruments",
        ("ref", "name", "principle", "uncertainty"),
        "Enter a gauge: short name, what it is, principle, uncertainty of one reading.",
    )
)
command.add_command(
    row_command(
        "add",
        "film readings",
        ("vehicle", "panel", "readings"),
        "Record readings of one place: stock number, panel, readings parted by blanks.",
    )
)


@reads
@command.command("show")
@click.argument("vehicle")
@click.option("--range", "wanted", metavar="LOW/HIGH", help="Hold against a range, as 100/200um.")
def show_film(vehicle: str, wanted: str | None, *, as_json: bool) -> None:
    """Show the film of each panel of VEHICLE (stock number), its headroom, and what changed.

    With --range each panel is also held against a range after SSPC-PA 2: its places are spots.
    """
    from recondition.reports import film  # noqa: PLC0415 - heavy, and only here

    with the_book().reading() as conn:
        tables = film.tables(conn, vehicle, wanted)
    show(tables, as_json=as_json)


@reads
@command.command("sampling")
@click.argument("surface")
@click.option("--range", "wanted", metavar="LOW/HIGH", help="Range wanted, as 8/12mil.")
def sampling(surface: str, wanted: str | None, *, as_json: bool) -> None:
    """Say how much to measure of SURFACE (as '12500 ft2' or '12 m2') after SSPC-PA 2."""
    from recondition.reports.film import sampling_table  # noqa: PLC0415 - heavy, and only here

    show([sampling_table(surface, wanted)], as_json=as_json)
