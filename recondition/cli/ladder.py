"""Which abrasive grades, from the coarsest mark to the finish wanted."""

from __future__ import annotations

import click

from recondition.cli._shared import reads, show, the_book


@reads
@click.command(short_help="Which abrasive grades, step by step.")
@click.argument("mark")
@click.argument("finish")
@click.option("--through", metavar="GRADES", help="Your own steps between, as P1000,P2000.")
@click.option("--have", metavar="GRADES", help="The papers at hand; empty: the whole series.")
@click.option("--takes", metavar="UM", help="Film each step takes, in um: one figure or several.")
@click.option("--on", "on", nargs=2, metavar="STOCK PANEL", help="Hold the sum against headroom.")
def command(  # noqa: PLR0913, PLR0917 - each is a separate choice of the caller
    mark: str,
    finish: str,
    through: str | None,
    have: str | None,
    takes: str | None,
    on: tuple[str, str] | None,
    *,
    as_json: bool,
) -> None:
    """Give the grades from the coarsest MARK present to the FINISH wanted, as P800 P2500.

    A step too wide is refused with why. P and US grades are different papers.
    """
    from recondition.reports.ladder import ladder_tables  # noqa: PLC0415 - heavy, only here

    asked = {"mark": mark, "finish": finish, "through": through, "have": have, "takes": takes}
    if on is None:
        tables = ladder_tables(asked, None)
    else:
        from recondition.book.questions import headroom_of  # noqa: PLC0415 - as above

        with the_book().reading() as conn:
            tables = ladder_tables(asked, headroom_of(conn, *on))
    show(tables, as_json=as_json)
