"""Freeze a decision, so that it can be held against what happens."""

from __future__ import annotations

from functools import partial

import click

from recondition.cli._shared import acting, the_book, wall_clock, writes


@writes
@click.command(short_help="Freeze a decision, to hold it against what happens.")
@click.argument("vehicle")
@click.option("--note", help="Why, in your own words.")
@click.option("--seed", type=int, default=0, show_default=True, help="Seed of the draws.")
@click.option("--key", help="Idempotency key: never posted twice.")
def command(vehicle: str, note: str | None, seed: int, key: str | None) -> None:
    """Plan VEHICLE (stock number) and keep the plan with its inputs, result and versions.

    After the sale 'recondition report track-record' holds it against what happened.
    """
    from recondition.book.freezing import Freezing, freeze, worked_out  # noqa: PLC0415 - heavy

    said = Freezing(stock=vehicle, author_ref=acting(), note=note, key=key, seed=seed)
    plan = partial(worked_out, the_book(), vehicle, wall_clock(), seed=seed)
    for line in freeze(the_book(), said, plan):
        click.echo(line)
