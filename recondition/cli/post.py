"""Post labour, parts, consumables, sublets, charges, and reversals."""

from __future__ import annotations

import click

from recondition.cli._listing import list_command
from recondition.cli._rows import row_command
from recondition.cli._shared import acting, the_book, writes
from recondition.reports import lists


@click.group(short_help="Post line items and reversals.")
def command() -> None:
    """Post line items. A posted line is never changed: it is reversed and entered anew."""


_LINES = (
    ("labour", "labour", ("vehicle", "quantity", "words"),
     "Post hands-on hours: stock number, hours, what was done."),
    ("part", "parts", ("vehicle", "part_name", "price", "origin", "words"),
     "Post a part or decal: stock number, part, price, origin, what was done."),
    ("consumable", "consumables",
     ("vehicle", "product", "quantity", "words"),
     ("Post an amount of a product: stock number, product, amount, what for. It costs what "
      "stock is worth; give --price and --price-is-for for what is never kept in stock. "
      "'recondition use' has the ways to measure.")),
    ("sublet", "sublets", ("vehicle", "price", "words"),
     "Post work bought from another shop: stock number, price, what was done."),
    ("charge", "charges", ("vehicle", "price", "words"),
     "Post an amount without hours, part or stock: stock number, price, what for."),
)  # fmt: skip

for _name, _sheet, _arguments, _words in _LINES:
    command.add_command(row_command(_name, _sheet, _arguments, _words))
command.add_command(list_command(lists.lines, "List posted lines."))


@writes
@command.command("reversal")
@click.argument("line")
@click.argument("why")
@click.option("--on", "day", metavar="DATE", help="Day of the reversal; empty: today.")
@click.option("--period", metavar="YYYY-MM", help="Posting period; empty: that of the day.")
@click.option("--words", metavar="TEXT", help="The reason in words that a buyer may read.")
def reversal(line: str, why: str, day: str | None, period: str | None, words: str | None) -> None:
    """Take LINE back with its exact negative, and say WHY. The old line stays readable."""
    from recondition.book.reversing import reverse_line  # noqa: PLC0415 - heavy, and only here

    ref = reverse_line(
        the_book(), line, why, author_ref=acting(), day=day, period=period, words=words
    )
    click.echo(f"reversal {ref}: new")


@writes
@command.command("undo")
@click.argument("ref")
@click.argument("why")
@click.option("--on", "day", metavar="DATE", help="Day it is taken back; empty: today.")
@click.option("--period", metavar="YYYY-MM", help="Posting period; empty: that of the day.")
def undo(ref: str, why: str, day: str | None, period: str | None) -> None:
    """Take back invoice, payment, sale or value test REF, and say WHY. The old one stays.

    Where several kinds share a ref, write the kind before it, such as 'payment:P-1'.
    """
    from recondition.book import reversing  # noqa: PLC0415 - heavy, and only here

    made = reversing.undo(the_book(), ref, why, author_ref=acting(), day=day, period=period)
    click.echo(f"entry reversal {made}: new")
