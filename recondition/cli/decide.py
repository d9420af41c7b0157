"""Freeze a decision, so that it can be held against what happens."""

from __future__ import annotations

import click

from recondition.cli._shared import acting, the_book, wall_clock, writes


@writes
@click.command(short_help="Freeze a decision, to hold it against what happens.")
@click.argument("vehicle")
@click.option("--note", help="Why, in your own words.")
@click.option("--seed", type=int, default=0, show_default=True, help="Seed of the draws.")
def command(vehicle: str, note: str | None, seed: int) -> None:
    """Plan VEHICLE (stock number) and keep the plan with its inputs, result and versions.

    After the sale 'recondition report track-record' holds it against what happened.
    """
    from recondition.book.freezing import freeze  # noqa: PLC0415 - heavy, and only here

    for line in freeze(the_book(), vehicle, acting(), wall_clock(), note=note, seed=seed):
        click.echo(line)
