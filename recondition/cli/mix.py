"""How much product and water make a batch, as the label's dilution is read."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from textwrap import fill

import click

from recondition.amounts.rounding import round_to
from recondition.cli._shared import BOOK_OPTION, JSON_OPTION, WIDTH, show_json
from recondition.errors import Refused
from recondition.materials.dilution import Dilution, Poured
from recondition.materials.labels import Reading, Reads, readings, settled, strength_apart
from recondition.materials.products import Product
from recondition.materials.volumes import volume_ml

_MEANS = {
    Reads.PRODUCT_TO_WATER: "the label says product, then water",
    Reads.WATER_TO_PRODUCT: "the label says water, then product",
    Reads.ONE_IN: "the larger number is the whole mix",
    Reads.OF_WATER: "the product is added to the water",
    Reads.OF_MIX: "water makes up the whole mix",
}
_SMALLER = "The larger number comes first: the smaller is taken for the product."
_CAUTION = (
    "Caution: the label and the safety data sheet decide. With strong acids the water goes in "
    "first, then the concentrate. Never into an unlabelled bottle or one for food or drink."
)


class TotalOrProduct(Refused):
    """A batch was given neither by its total nor by the product in hand, or by both."""

    exit_status = 2

    def __init__(self) -> None:
        """Name the two options."""
        what = "A batch is known by its total or by the product in hand."
        super().__init__(what, todo='Give either --total "750 ml" or --product "68 ml".')


class RatioOrProduct(Refused):
    """Neither a ratio nor a product was named, or both."""

    exit_status = 2

    def __init__(self) -> None:
        """Name the two ways."""
        what = "A mix is known by the ratio on the label or by a product in the book."
        super().__init__(what, todo="Give either RATIO or --of PRODUCT.")


class NoDilution(Refused):
    """A product whose label's dilution is not on record."""

    def __init__(self, product: str) -> None:
        """Name the product."""
        what = f"product {product} has no dilution on record"
        super().__init__(what, todo="Give the RATIO from the label, or enter it with the product.")


@dataclass(frozen=True, slots=True)
class Batch:
    """One of the two volumes, in exact millilitres."""

    total_ml: Fraction | None
    product_ml: Fraction | None

    def poured(self, reading: Reading) -> Poured:
        """Give what is measured out for it. Raises TotalOrProduct, NothingToMix, BatchTooSmall."""
        dilution = reading.dilution
        if self.total_ml is not None and self.product_ml is None:
            with _at("--total"):
                return dilution.poured(dilution.for_total(self.total_ml))
        if self.product_ml is not None and self.total_ml is None:
            with _at("--product"):
                return dilution.poured(dilution.for_product(self.product_ml))
        raise TotalOrProduct


@click.command(short_help="How much product and water make a batch.")
@click.argument("ratio", required=False)
@click.option("--of", "of", metavar="PRODUCT", help="As its label was read when it was entered.")
@click.option("--total", metavar="VOLUME", help="The whole batch, such as '750 ml'.")
@click.option("--product", metavar="VOLUME", help="The concentrate in hand, such as '68 ml'.")
@click.option(
    "--reads", type=click.Choice([*map(str, Reads)]), help="What the label means, if known."
)
def command(  # noqa: PLR0913 - each is a separate choice of the caller
    ratio: str | None,
    of: str | None,
    total: str | None,
    product: str | None,
    reads: str | None,
    *,
    as_json: bool,
) -> None:
    """Say how many ml of product and of water make a batch at RATIO, as printed on the label.

    RATIO is such as '1:10', '1+10', '1 in 10', '10 %', '20 ml per litre of water', '2 fl oz
    per US gallon of mix' or 'neat'. Where it can be read in several ways, all are shown. With
    --of the RATIO is left out: which reading is meant was asked when the product was entered.
    """
    ratio = _settled_for(of, ratio)
    with _at("RATIO"):
        found = readings(ratio)
    with _at("--reads"):
        chosen = settled(ratio, found, Reads(reads) if reads else None)
    batch = Batch(_volume("--total", total), _volume("--product", product))
    if as_json:
        show_json(_as_json(ratio, found, batch, chosen))
        return
    if chosen is None:
        _show_open(ratio, found, batch)
        chosen = _asked(found)
    _show_end(ratio, batch, chosen)


command.params += [BOOK_OPTION, JSON_OPTION]


def _settled_for(product: str | None, ratio: str | None) -> str:
    """Give the ratio that was typed, or that of a product in the book.

    Raises RatioOrProduct, NoDilution, NotThere.
    """
    if (product is None) == (ratio is None):
        raise RatioOrProduct
    if product is None:
        return ratio or ""
    from recondition.book import reading  # noqa: PLC0415 - only a product needs the book
    from recondition.cli._shared import the_book  # noqa: PLC0415 - as above

    with the_book().reading() as conn:
        entry = reading.one(conn, "product", product).entry
    _stop_or_remind(product, entry)
    if entry.product_parts is None or entry.water_parts is None:
        raise NoDilution(product)
    _say_ph(entry.ph if entry.ph_to is None else entry.ph_to, entry)
    return Dilution(entry.product_parts, entry.water_parts, entry.dilution_label or "").text


def _stop_or_remind(name: str, entry: Product) -> None:
    """Say on stderr what to remember before a product is poured. Raises Stopped."""
    from recondition.condition.cautions import Stopped, Task, cautions  # noqa: PLC0415 - as above
    from recondition.ledger.jobsheet import nature_of  # noqa: PLC0415 - as above

    nature = nature_of(name, entry)
    task = Task("mix", product=nature, allowed_because=entry.allowed_because or "")
    for caution in cautions(task):
        if caution.stops and nature.fluoride:
            raise Stopped(caution)
        click.echo(fill(f"caution: {caution.said()}", WIDTH, break_on_hyphens=False), err=True)


def _say_ph(ph: Decimal | None, entry: Product) -> None:
    """Say on stderr what the pH of a mix can be, where the sheet gives that of the product."""
    from recondition.condition.chemistry import diluted  # noqa: PLC0415 - as above

    if ph is None or entry.product_parts is None or entry.water_parts is None:
        return
    times = (Fraction(entry.product_parts) + Fraction(entry.water_parts)) / Fraction(
        entry.product_parts
    )
    mixed = diluted(ph, times)
    if mixed != ph:
        words = (
            f"pH: {ph} as it is, {mixed:.1f} in the mix at most, if nothing buffers it; most "
            "cleaners are buffered and move less."
        )
        click.echo(fill(words, WIDTH, break_on_hyphens=False), err=True)


@contextmanager
def _at(where: str) -> Iterator[None]:
    """Let a refusal name the argument or option that it came from."""
    try:
        yield
    except Refused as refused:
        refused.where = refused.where or where
        raise


def _volume(option: str, text: str | None) -> Fraction | None:
    """Read the volume that an option gives, in ml."""
    if text is None:
        return None
    with _at(option):
        return volume_ml(text)


def _say(sentence: str) -> None:
    """Print a sentence, folded to the width of the tables."""
    click.echo(fill(sentence, WIDTH, break_on_hyphens=False))


def _words(reading: Reading) -> str:
    """Give a reading in words: its parts and what they mean."""
    if not reading.dilution.water_parts:
        return "the product as it is"
    return f"{reading.dilution.text} ({_MEANS[reading.reads]})"


def _plain(number: Decimal) -> str:
    """Write a number of tenths without a last zero."""
    return f"{number}".removesuffix(".0")


def _amounts(poured: Poured) -> str:
    """Give the two volumes that are measured out."""
    total, product = _plain(poured.total_ml), _plain(poured.product_ml)
    water = f" + {_plain(poured.water_ml)} ml water" if poured.water_ml else ", no water"
    return f"for {total} ml: {product} ml product{water}"


def _show_open(ratio: str, found: tuple[Reading, ...], batch: Batch) -> None:
    """Print every reading of an ambiguous label for the batch."""
    poured = [batch.poured(reading) for reading in found]
    _say(f"{ratio.strip()} can be read in {len(found)} ways.")
    if any(reading.reads is Reads.WATER_TO_PRODUCT for reading in found):
        _say(_SMALLER)
    for number, (reading, volumes) in enumerate(zip(found, poured, strict=True), 1):
        ordinary = ", this trade's ordinary reading" if reading.ordinary else ""
        click.echo(f"\n{number}. {reading.reads}{ordinary}")
        click.echo(f"   {_words(reading)}")
        click.echo(f"   {_amounts(volumes)}")
    apart = _plain(round_to(strength_apart(found) * 100, 1))
    click.echo(f"\nThe strongest of them is {apart} % stronger than the weakest.")


def _asked(found: tuple[Reading, ...]) -> Reading | None:
    """Ask once which reading is meant, where somebody can answer; else name the option."""
    if not sys.stdin.isatty():
        options = " or ".join(f"--reads {reading.reads}" for reading in found)
        _say(f"Settle it with {options}.")
        return None
    numbers = click.Choice([str(number) for number in range(1, len(found) + 1)])
    answer: str = click.prompt("Which one does the label mean?", type=numbers)
    click.echo()
    return found[int(answer) - 1]


def _show_end(ratio: str, batch: Batch, chosen: Reading | None) -> None:
    """Print the volumes once settled, what is counted, and the caution."""
    counted = "the ml of concentrate"
    if chosen is not None:
        poured = batch.poured(chosen)
        counted = f"the concentrate, {_plain(poured.product_ml)} ml"
        _say(f"{ratio.strip()}, read as {_words(chosen)}:")
        if chosen.reads is Reads.WATER_TO_PRODUCT:
            _say(_SMALLER)
        _say(_amounts(poured))
    _say(f"Stock and cost count {counted}, whatever is sprayed; water has no stock.")
    _say(_CAUTION)


def _as_json(
    ratio: str, found: tuple[Reading, ...], batch: Batch, chosen: Reading | None
) -> dict[str, object]:
    """Give every reading for machines."""
    return {
        "label": ratio.strip(),
        "readings": [_reading_as_json(reading, batch.poured(reading)) for reading in found],
        "chosen": None if chosen is None else chosen.reads,
    }


def _reading_as_json(reading: Reading, poured: Poured) -> dict[str, object]:
    """Give one reading; volumes and parts are texts, never binary floats."""
    dilution = reading.dilution
    return {
        "reads": reading.reads,
        "ordinary": reading.ordinary,
        "dilution": dilution.text,
        "product_parts": f"{dilution.product_parts:f}",
        "water_parts": f"{dilution.water_parts:f}",
        "product_ml": str(poured.product_ml),
        "water_ml": str(poured.water_ml),
        "total_ml": str(poured.total_ml),
    }
