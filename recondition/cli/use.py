"""Record a measured use in a few values: weighed, poured, pumped, by level, counted."""

from __future__ import annotations

import click

from recondition.cli._shared import acting, show_beside, the_book, writes


@click.group(short_help="Record a measured use in a few values.")
def command() -> None:
    """Record what was used of a labelled container or a product.

    The vehicle, findings, panel and operation are those of your open clock, unless an option
    says otherwise. So a weighed use is one line: recondition use weigh K-07 742.6 701.9
    """


_FOR = (
    click.Option(["--vehicle"], metavar="STOCK", help="For which vehicle."),
    click.Option(["--for-the-shop", "for_shop"], is_flag=True, help="For no vehicle."),
    click.Option(["--findings", "links"], metavar="REFS", help="Findings it serves."),
    click.Option(["--no-finding-because", "unlinked"], metavar="TEXT", help="Why it serves none."),
    click.Option(["--candidate"], metavar="REF", help="Candidate work it carries out."),
    click.Option(["--panel"], metavar="TEXT", help="Panel worked on."),
    click.Option(["--operation"], metavar="TEXT", help="What kind of work."),
    click.Option(["--words"], metavar="TEXT", help="What for, in words a buyer may read."),
    click.Option(["--wasted"], is_flag=True, help="A rest thrown away, or a pad scrapped early."),
    click.Option(["--loss"], metavar="TEXT", help="Of what is wasted: normal or abnormal."),
    click.Option(["--does-again", "rework__of"], metavar="LINE", help="Line it does again."),
    click.Option(["--cause", "rework__cause"], metavar="TEXT", help="Why it is done again."),
    click.Option(["--who-pays", "rework__payer"], metavar="TEXT", help="Who bears rework."),
    click.Option(["--private-note"], metavar="TEXT", help="For the shop only."),
    click.Option(["--on", "work_date"], metavar="DATE", help="Day of the use; empty: today."),
    click.Option(["--billed-to-owner", "billed"], metavar="MONEY", help="What an owner pays."),
    click.Option(["--override-because", "override"], metavar="TEXT", help="Reason, if stopped."),
    click.Option(["--ref"], help="The line's own name; empty: the next free."),
    click.Option(["--key"], help="Idempotency key: never posted twice."),
)


def _use(name: str, arguments: tuple[str, ...], words: str, *more: click.Option) -> None:
    """Add a command whose arguments are fields of the sheet consumables."""

    def enter(**given: str | bool | None) -> None:
        """Send the use through the intake."""
        from recondition.intake.bench import use  # noqa: PLC0415 - heavy, and only here

        ref, key = given.pop("ref"), given.pop("key")
        if given.pop("wasted"):
            given["use"] = "wasted"
        if name == "standard":
            given["measure__way"] = "standard amount"
        if given.get("for_shop"):
            given["for_shop"] = "yes"
        values = {field.replace("__", "."): str(text) for field, text in given.items() if text}
        _today(values)
        used = use(the_book(), values, author_ref=acting(), ref=_text(ref), key=_text(key))
        draft = used.result.draft
        click.echo(f"consumable {draft.ref}: {used.result.status.value}")
        click.echo(f"  {used.words}")
        show_beside(used.result)

    params: list[click.Parameter] = [
        click.Argument([field], metavar=_METAVARS.get(field)) for field in arguments
    ]
    options = [option for option in (*more, *_FOR) if option.name not in arguments]
    made = click.Command(name, callback=enter, params=[*params, *options], help=words)
    command.add_command(writes(made))


def _text(value: object) -> str | None:
    """Give an option's text."""
    return value if isinstance(value, str) else None


def _today(values: dict[str, str]) -> None:
    """Put today where the day is left out."""
    from datetime import datetime  # noqa: PLC0415 - only when a command runs

    values.setdefault("work_date", datetime.now().astimezone().date().isoformat())


_METAVARS = {
    "measure__gross_before": "BEFORE",
    "measure__gross_after": "AFTER",
    "measure__level_before": "BEFORE",
    "measure__level_after": "AFTER",
    "measure__strokes": "STROKES",
    "measure__per_stroke": "EACH",
    "measure__sprayed": "AMOUNT",
    "quantity": "AMOUNT",
    "mixed": "MIX",
}
_STEP = click.Option(
    ["--scale-step", "measure__resolution"], metavar="GRAMS", help="Step of the scale; 0.1 g."
)
_CONTAINER = click.Option(["--container"], metavar="LABEL", help="Container it came from.")

_COMMANDS: tuple[tuple[str, tuple[str, ...], str, tuple[click.Option, ...]], ...] = (
    ("weigh", ("container", "measure__gross_before", "measure__gross_after"),
     "Weigh CONTAINER before and after, in grams, with the same cap or trigger.", (_STEP,)),
    ("pour", ("product", "quantity"),
     "Use an amount that was poured or drawn up: PRODUCT, AMOUNT.", (_CONTAINER,)),
    ("pump", ("product", "measure__strokes", "measure__per_stroke"),
     "Use strokes of a dosing pump: PRODUCT, how many, millilitres of each.", (_CONTAINER,)),
    ("spray", ("mixed", "measure__sprayed"),
     "Use an amount of a mixed batch: its ref, millilitres of the mix.", ()),
    ("level", ("container", "measure__level_before", "measure__level_after"),
     "Read the level mark of CONTAINER before and after, in percent of full.", ()),
    ("count", ("product", "quantity"),
     "Use pieces or uses: discs, blades, pads, cloths.", (_CONTAINER,)),
    ("standard", ("product", "operation"),
     "Take the shop's standard amount of PRODUCT for OPERATION; it counts as assumed.", ()),
)  # fmt: skip


@writes
@command.command("scrap")
@click.argument("container")
@click.argument("why")
@click.option("--rest", metavar="AMOUNT", help="What was left in it; known for a numbered pad.")
@click.option("--vehicle", metavar="STOCK", help="For which vehicle; empty: that of its last use.")
@click.option("--for-the-shop", "for_shop", is_flag=True, help="For no vehicle.")
@click.option("--findings", "links", metavar="REFS", help="Findings it serves.")
@click.option("--no-finding-because", "unlinked", metavar="TEXT", help="Why it serves none.")
@click.option("--loss", metavar="TEXT", help="normal or abnormal; empty: by the loss rule.")
@click.option("--on", "work_date", metavar="DATE", help="Day; empty: today.")
@click.option("--key", help="Idempotency key: never posted twice.")
def scrap(
    container: str, why: str, rest: str | None, key: str | None, **given: str | bool | None
) -> None:
    """Throw CONTAINER away early and say WHY; what was left in it is wasted."""
    from recondition.intake.bench import scrap as thrown  # noqa: PLC0415 - heavy, and only here

    values = {field: str(text) for field, text in given.items() if text}
    used = thrown(the_book(), container, why, rest=rest, given=values, author_ref=acting(), key=key)
    click.echo(f"consumable {used.result.draft.ref}: {used.result.status.value}")
    click.echo(f"  {used.words}")
    click.echo(f"container {container}: emptied")


for _name, _arguments, _words, _more in _COMMANDS:
    _use(_name, _arguments, _words, *_more)
