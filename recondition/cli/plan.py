"""What is worth doing to a vehicle before its sale, and why."""

from __future__ import annotations

import click

from recondition.cli._shared import reads, show, show_json, the_book


@reads
@click.command(short_help="What is worth doing.")
@click.argument("vehicles", nargs=-1, required=True)
def command(vehicles: tuple[str, ...], *, as_json: bool) -> None:
    """Say which candidate work on VEHICLES (stock numbers) to do, leave or ask about.

    The best set by expected net is found by weighing every set of up to 15 pieces of work.
    """
    from recondition.book.questions import question_of, vehicle_of  # noqa: PLC0415
    from recondition.reports import worth_doing  # noqa: PLC0415
    from recondition.reports.bench_notes import notes_of  # noqa: PLC0415
    from recondition.worth.decision import decide  # noqa: PLC0415

    with the_book().reading() as conn:
        cars = [vehicle_of(conn, ref) for ref in vehicles]
        questions = [question_of(conn, car) for car in cars]
        answers = [decide(question) for question in questions]
        notes = [
            notes_of(conn, question, advice, car.id)
            for question, advice, car in zip(questions, answers, cars, strict=True)
        ]
    found = {}
    for car, question, advice, note in zip(cars, questions, answers, notes, strict=True):
        if as_json:
            found[car.ref] = worth_doing.as_json(advice, question, note)
            continue
        lead = f"{car.ref} {car.entry.designation}\n{worth_doing.summary(advice)}\n"
        show([*worth_doing.build(advice, question), note], as_json=False, lead=lead)
    if as_json:
        show_json(found)
