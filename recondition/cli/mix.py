"""How much product and water make a batch, as the label's dilution is read."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from textwrap import fill

import click

from recondition.amounts.rounding import round_to
from recondition.cli._shared import JSON_OPTION, WIDTH, show_json
from recondition.errors import Refused
from recondition.materials.dilution import (
    Poured,
    Reading,
    Reads,
    readings,
    settled,
    strength_apart,
    volume_ml,
)

_MEANS = {
    Reads.PRODUCT_TO_WATER: "parts of product to parts of water",
    Reads.WATER_TO_PRODUCT: "parts of water to parts of product",
    Reads.ONE_IN: "the product a part of the whole mix",
    Reads.OF_WATER: "added to that much water",
    Reads.OF_MIX: "made up to that much mix",
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


@dataclass(frozen=True, slots=True)
class Batch:
    """One of the two volumes, in exact millilitres."""

    total_ml: Fraction | None
    product_ml: Fraction | None

    def poured(self, reading: Reading) -> Poured:
        """Give what is measured out for it. Raises TotalOrProduct, NothingToMix, BatchTooSmall."""
        dilution = reading.dilution
        if self.total_ml is not None and self.product_ml is None:
            return dilution.poured(dilution.for_total(self.total_ml))
        if self.product_ml is not None and self.total_ml is None:
            return dilution.poured(dilution.for_product(self.product_ml))
        raise TotalOrProduct


@click.command(short_help="How much product and water make a batch.")
@click.argument("ratio")
@click.option("--total", metavar="VOLUME", help="The whole batch, such as '750 ml'.")
@click.option("--product", metavar="VOLUME", help="The concentrate in hand, such as '68 ml'.")
@click.option("--reads", type=click.Choice(list(Reads)), help="What the label means, if known.")
def command(
    ratio: str, total: str | None, product: str | None, reads: Reads | None, *, as_json: bool
) -> None:
    """Say how many ml of product and of water make a batch at RATIO, as printed on the label.

    RATIO is such as '1:10', '1+10', '1 in 10', '10 %', '20 ml per litre of water', '2 fl oz
    per US gallon of mix' or 'neat'. Where it can be read in several ways, all are shown.
    """
    found = readings(ratio)
    batch = Batch(*(None if text is None else volume_ml(text) for text in (total, product)))
    poured = [batch.poured(reading) for reading in found]
    chosen = settled(ratio, found, reads)
    if as_json:
        show_json(_as_json(ratio, list(zip(found, poured, strict=True)), chosen))
        return
    if chosen is None:
        _show_open(ratio, found, poured)
        chosen = _asked(found)
    if chosen is not None:
        _say(f"{ratio.strip()}, read as {_words(chosen)}:")
        if chosen.reads is Reads.WATER_TO_PRODUCT:
            _say(_SMALLER)
    _show_end(None if chosen is None else poured[found.index(chosen)])


command.params.append(JSON_OPTION)


def _say(sentence: str, indent: str = "") -> None:
    """Print a sentence, folded to the width of the tables."""
    click.echo(fill(sentence, WIDTH, break_on_hyphens=False, subsequent_indent=indent))


def _words(reading: Reading) -> str:
    """Give a reading in words: its parts and what they mean."""
    return f"{reading.dilution.text} ({_MEANS[reading.reads]})"


def _ml(volume: Decimal) -> str:
    """Write tenths of a millilitre, without a last zero."""
    return f"{volume} ml".replace(".0 ml", " ml")


def _amounts(poured: Poured) -> str:
    """Give the two volumes that are measured out."""
    product, water = _ml(poured.product_ml), _ml(poured.water_ml)
    return f"for {_ml(poured.total_ml)}: {product} product + {water} water"


def _show_open(ratio: str, found: tuple[Reading, ...], poured: list[Poured]) -> None:
    """Print every reading of an ambiguous label, and how to settle it."""
    _say(f"{ratio.strip()} can be read in {len(found)} ways.")
    if any(reading.reads is Reads.WATER_TO_PRODUCT for reading in found):
        _say(_SMALLER)
    for number, (reading, volumes) in enumerate(zip(found, poured, strict=True), 1):
        ordinary = ", this trade's ordinary reading" if reading.ordinary else ""
        click.echo(f"\n{number}. {reading.reads}{ordinary}")
        click.echo(f"   {_words(reading)}")
        click.echo(f"   {_amounts(volumes)}")
    apart = round_to(strength_apart(found) * 100, 1)
    _say(f"\nThe strongest is {apart} % stronger than the weakest.")


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


def _show_end(poured: Poured | None) -> None:
    """Print the volumes once settled, what is counted, and the caution."""
    counted = "the concentrate"
    if poured is not None:
        _say(_amounts(poured))
        counted = f"{_ml(poured.product_ml)} of concentrate"
    _say(f"Stock and cost count {counted}, whatever is sprayed; water has no stock.")
    _say(_CAUTION)


def _as_json(
    ratio: str, found: list[tuple[Reading, Poured]], chosen: Reading | None
) -> dict[str, object]:
    """Give every reading for machines; volumes and parts are texts, never binary floats."""
    return {
        "label": ratio.strip(),
        "readings": [
            {
                "reads": reading.reads,
                "ordinary": reading.ordinary,
                "dilution": reading.dilution.text,
                "product_parts": f"{reading.dilution.product_parts:f}",
                "water_parts": f"{reading.dilution.water_parts:f}",
                "product_ml": str(poured.product_ml),
                "water_ml": str(poured.water_ml),
                "total_ml": str(poured.total_ml),
            }
            for reading, poured in found
        ],
        "chosen": None if chosen is None else chosen.reads,
    }
