"""What is worth doing to a vehicle before its sale, and why; several vehicles together."""

from __future__ import annotations

import sys
from datetime import datetime
from typing import TYPE_CHECKING

import click

from recondition.cli._shared import AS_OF, reads, show, show_json, the_book, wall_clock

if TYPE_CHECKING:
    from recondition.book import Connection
    from recondition.book.engine import Book
    from recondition.worth.advice import Plan


@reads
@click.command(short_help="What is worth doing, and can it be ready.")
@click.argument("vehicles", nargs=-1, required=True)
@AS_OF
@click.option("--seconds", type=click.FloatRange(0.1, 3600), help="How long to search at most.")
@click.option("--seed", type=int, default=0, show_default=True, help="Seed of the draws.")
@click.option("--cash", metavar="AMOUNT", help="One purse for several vehicles.")
@click.option("--corrected", is_flag=True, help="Correct estimates by your own track record.")
def command(  # noqa: PLR0913 - each option is a separate choice
    vehicles: tuple[str, ...],
    moment: datetime | None,
    seconds: float | None,
    seed: int,
    cash: str | None,
    *,
    corrected: bool,
    as_json: bool,
) -> None:
    """Say which candidate work on VEHICLES (stock numbers) to do, leave or ask about.

    The best set by expected net that can be ready in time is found and proven, or given with
    the gap that is left. Several vehicles are planned together: one set of hands, bays and cash.
    """
    at = moment or wall_clock()
    book = the_book()
    if len(vehicles) > 1:
        if corrected:
            message = "--corrected is for one vehicle at a time."
            raise click.UsageError(message)
        _together(book, vehicles, at, seconds or 60.0, cash, as_json=as_json)
        return
    if cash is not None:
        message = "--cash is a purse for several vehicles; one has its cash limit in its terms."
        raise click.UsageError(message)
    with book.reading() as conn:
        _one(conn, vehicles[0], at, as_json=as_json, by_record=corrected, seed=seed,
             seconds=seconds)  # fmt: skip


def _one(  # noqa: PLR0913 - the options of the command
    conn: Connection,
    ref: str,
    at: datetime,
    *,
    as_json: bool,
    seconds: float | None,
    by_record: bool,
    seed: int,
) -> None:
    """Print the plan as soon as it is known, the rest when it is."""
    from recondition.book.questions import vehicle_of  # noqa: PLC0415 - heavy, and only here
    from recondition.reports.dealer import answer  # noqa: PLC0415 - as above
    from recondition.worth.decision import SECONDS  # noqa: PLC0415 - as above

    car = vehicle_of(conn, ref)
    tell = None if as_json else _first_word
    made = answer(
        conn, car, at, seconds=seconds or SECONDS, by_record=by_record, seed=seed, tell=tell
    )
    if as_json:
        show_json({car.ref: made.as_json()})
        return
    lead = f"{car.ref} {car.entry.designation}\n{made.words}\n"
    show(made.tables, as_json=False, lead=lead)


def _first_word(plan: Plan) -> None:
    """Say on a terminal what the plan is worth, while the rest is still worked out."""
    if sys.stderr.isatty():
        words = f"The plan is found, net {plan.net.grouped}; now what would change it ..."
        click.echo(words, err=True)


def _together(  # noqa: PLR0913 - the options of the command
    book: Book,
    refs: tuple[str, ...],
    at: datetime,
    seconds: float,
    cash: str | None,
    *,
    as_json: bool,
) -> None:
    from recondition.book.questions import question_of, vehicle_of  # noqa: PLC0415 - heavy
    from recondition.book.reading import settings_of  # noqa: PLC0415 - heavy, and only here
    from recondition.cli._progress import shown_gap  # noqa: PLC0415 - as above
    from recondition.intake.numbers import amount  # noqa: PLC0415 - as above
    from recondition.reports import together as report  # noqa: PLC0415 - as above
    from recondition.worth.several import together  # noqa: PLC0415 - as above

    with book.reading() as conn:
        cars = [vehicle_of(conn, ref) for ref in dict.fromkeys(refs)]
        questions = {car.ref: question_of(conn, car, at) for car in cars}
        purse = None if cash is None else amount(cash, settings_of(conn), "--cash")
    with shown_gap() as closing:
        found = together(questions, purse=purse, seconds=seconds, closing=closing)
    names = {car.ref: car.entry.designation for car in cars}
    if as_json:
        show_json(report.as_json(found, questions))
        return
    show(report.tables(found, questions, names), as_json=False, lead=report.words(found) + "\n")
