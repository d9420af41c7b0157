"""What a document says of its money: an amount in its own currency, and how it is settled."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from recondition.amounts.money import Money, rounded
from recondition.errors import Refused


class Settled(StrEnum):
    """How what was bought is settled; on account where nothing is said."""

    ON_ACCOUNT = "on account"
    BANK = "bank"
    OPENING = "opening"


@dataclass(frozen=True, slots=True, kw_only=True)
class Foreign:
    """An amount in foreign money as the document has it, with the rate that was used.

    ``rate`` is what one unit of the foreign currency is worth in the home currency on the day
    of the transaction; ``source`` says whose rate it is.
    """

    amount: Money
    rate: Decimal
    source: str

    def home(self, currency: str) -> Money:
        """Give it in the home currency, rounded once."""
        return rounded(self.amount.fraction * Fraction(self.rate), currency)


class ForeignDiffers(Refused):
    """An amount that is not its foreign amount at the stated rate."""

    def __init__(self, found: Money, wanted: Money) -> None:
        """Show both."""
        super().__init__(
            f"the amount is {found.text}, and the foreign amount at its rate gives {wanted.text}",
            todo="Leave the amount empty, so that it is worked out, or correct the rate.",
        )


class ForeignIsHome(Refused):
    """A foreign amount in the home currency, or a rate that is not above zero."""

    def __init__(self, currency: str) -> None:
        """Name the home currency."""
        super().__init__(
            f"the foreign amount is no amount of another currency than {currency} with a rate",
            todo="Write it as 58000.00 EUR with a rate above zero, or give the amount in the "
            "home currency alone.",
        )


def check_foreign(price: Money, foreign: Foreign | None) -> None:
    """Hold a home amount against its foreign one. Raises ForeignIsHome, ForeignDiffers."""
    if foreign is None:
        return
    if foreign.amount.currency == price.currency or foreign.rate <= 0:
        raise ForeignIsHome(price.currency)
    wanted = foreign.home(price.currency)
    if wanted != price:
        raise ForeignDiffers(price, wanted)
