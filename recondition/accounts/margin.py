"""The margin scheme: tax on the margin between purchase and selling price, not on the price.

The scheme purchase price is what was paid for the car itself: hammer or price, with charges shown
without tax. Repairs, parts and transport never enter it. A loss gives nil tax, never a credit.
After Directive 2006/112/EC, 312 to 325, and the United Kingdom's scheme for second-hand vehicles
as published; rates and whether the scheme may be used are the user's data. General information:
the local accountant decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from recondition.amounts import Money
from recondition.errors import Refused
from recondition.ledger.taxes import tax_within


@dataclass(frozen=True, slots=True, kw_only=True)
class Scheme:
    """One car under the scheme: its scheme purchase price, and why it is shut out where it is."""

    purchase_price: Money
    shut_out: tuple[str, ...]

    @property
    def allowed(self) -> bool:
        """Whether nothing shuts the car out by default."""
        return not self.shut_out


class MarginRefused(Refused):
    """A sale under the margin scheme of a car that is shut out of it by default."""

    def __init__(self, ref: str, reasons: tuple[str, ...]) -> None:
        """Name the vehicle and every reason."""
        super().__init__(
            f"vehicle {ref} is shut out of the margin scheme: {'; '.join(reasons)}",
            todo="Sell it under ordinary tax. Where your accountant says otherwise, give the "
            "reason in 'margin because'; it is kept with the sale.",
        )


def scheme_of(
    purchase_price: Money, *, imported: bool, tax_shown: bool, consigned: bool, bought: bool
) -> Scheme:
    """Say what shuts a car out of the scheme by default."""
    reasons = []
    if consigned:
        reasons.append("it belongs to its owner and was never bought")
    elif not bought:
        reasons.append("no purchase price is on record")
    if imported:
        reasons.append("it was imported")
    if tax_shown:
        reasons.append("its purchase invoice shows tax")
    return Scheme(purchase_price=purchase_price, shut_out=tuple(reasons))


def margin_of(price: Money, purchase_price: Money) -> Money:
    """Give the margin; below zero where the car was sold at a loss."""
    return price - purchase_price


def margin_tax(price: Money, purchase_price: Money, rate: Decimal) -> Money:
    """Give the tax contained in the margin, M r / (1 + r), rounded once; nil on a loss."""
    margin = margin_of(price, purchase_price)
    zero = Money.zero(price.currency)
    return tax_within(margin, rate) if margin.minor > 0 else zero
