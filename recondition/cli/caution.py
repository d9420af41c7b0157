"""What to remember or to stop at, before a task."""

from __future__ import annotations

import click

from recondition.cli._shared import reads, show, the_book


@reads
@click.command(short_help="Cautions before a task.")
@click.argument("vehicle")
@click.argument("panel")
@click.argument("work")
@click.option("--product", metavar="REF", help="The product that would be used.")
@click.option("--film-it-takes", "takes", metavar="UM", help="Film it is expected to take, um.")
def command(  # noqa: PLR0913 - each is a separate choice of the caller
    vehicle: str, panel: str, work: str, product: str | None, takes: str | None, *, as_json: bool
) -> None:
    """Say what to remember or to stop at before WORK on PANEL of VEHICLE; nothing is posted.

    recondition caution 0007 "left front wheel" "clean" --product wheel-acid
    """
    from recondition.reports.cautions import caution_table  # noqa: PLC0415 - heavy, only here

    with the_book().reading() as conn:
        table = caution_table(conn, vehicle, panel, work, product, takes)
    show([table], as_json=as_json)
