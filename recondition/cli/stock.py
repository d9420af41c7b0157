"""Stock: receipts, containers, mixed batches, counts, freight, returns, and what is on hand."""

from __future__ import annotations

import click

from recondition.cli._rows import row_command
from recondition.cli._shared import acting, reads, show, the_book, writes


@click.group(short_help="Receipts, containers, counts, and what is on hand.")
def command() -> None:
    """Take products into stock, count them, and see where they went."""


_ENTRIES = (
    ("receive", "receipts", ("product", "quantity", "price"),
     "Take a delivery in: product, amount, price for all of it."),
    ("container", "containers", ("ref", "product"),
     ("Label a container: its label and the product in it. The same label again is a new "
      "version: another batch, another cap, emptied.")),
    ("mix", "mixed batches", ("product", "concentrate", "water"),
     "Note a batch mixed ready for use: product, concentrate, water."),
    ("standard", "standard amounts", ("product", "operation", "quantity"),
     "Say what an operation is taken to use where nobody measures."),
    ("freight", "late freight", ("product", "receipt", "price", "words"),
     "Add freight that was billed after its receipt: product, receipt, amount, what for."),
    ("return", "supplier returns", ("product", "receipt", "quantity", "credit", "words"),
     "Send stock back: product, receipt, amount, credit, why."),
    ("count", "counts", ("product", "counted", "words"),
     "Post a count: product, all that is there, why it differs."),
)  # fmt: skip

for _name, _sheet, _arguments, _words in _ENTRIES:
    command.add_command(row_command(_name, _sheet, _arguments, _words))


@writes
@command.command("weigh-in")
@click.argument("product")
@click.argument("weights", nargs=-1, required=True, metavar="LABEL=GROSS...")
@click.option("--why", default="", help="Why stock and shelf differ.")
@click.option("--on", "day", metavar="DATE", help="Day of the count; empty: today.")
@click.option("--key", help="Idempotency key: never posted twice.")
def weigh_in(
    product: str, weights: tuple[str, ...], why: str, day: str | None, key: str | None
) -> None:
    """Count PRODUCT by weighing its containers as they stand, such as K-07=701.9."""
    from recondition.intake.bench import count_by_weight  # noqa: PLC0415 - heavy, and only here

    for words in count_by_weight(
        the_book(), product, weights, why=why, day=day, author_ref=acting(), key=key
    ):
        click.echo(words)


@writes
@command.command("reverse")
@click.argument("ref")
@click.argument("why")
@click.option("--on", "day", metavar="DATE", help="Day of the reversal; empty: today.")
def reverse(ref: str, why: str, day: str | None) -> None:
    """Take back receipt, late freight or return REF, and say WHY. The old one stays readable."""
    from recondition.book.reversing import reverse_stock  # noqa: PLC0415 - heavy, and only here

    made = reverse_stock(the_book(), ref, why, author_ref=acting(), day=day)
    click.echo(f"stock reversal {made}: new")


_REPORTS = (
    ("list", "on_hand", "What is on hand, its value, and whether an order is due.", False),
    ("moves", "moves", "Every movement of PRODUCT, and what was on hand after each.", True),
    ("trace", "trace", "Which vehicles got BATCH: a receipt's ref or a printed batch number.",
     True),
    ("reorder", "reorder", "What is due for an order.", False),
    ("opened", "opened", "What is open and past its shelf life, or soon.", False),
    ("unrecorded", "unrecorded", "Differences found by counts, by product and month.", False),
)  # fmt: skip


def _report(name: str, function: str, words: str, *, of_one: bool) -> click.Command:
    """Make the command that shows one table of stock."""
    params: list[click.Parameter] = []
    if of_one:
        params = [click.Argument(["which"], metavar="BATCH" if name == "trace" else "PRODUCT")]

    def shown(*, as_json: bool, which: str | None = None) -> None:
        from recondition.reports import stock  # noqa: PLC0415 - only these commands need it

        book = the_book()
        today = book.now().astimezone().date()
        with book.reading() as conn:
            tables = getattr(stock, function)(conn, which, today)
        show(tables, as_json=as_json)

    return reads(click.Command(name, callback=shown, params=params, help=words))


for _name, _function, _words, _of_one in _REPORTS:
    command.add_command(_report(_name, _function, _words, of_one=_of_one))
