"""What a sale settles at: hammer, commission, premium and fees, each rounded once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from recondition.amounts import Money
from recondition.amounts.money import rounded
from recondition.worth.estimates import Basis, ThreeAmounts
from recondition.worth.settlement import all_in, hammer_of, seller_curve
from recondition.worth.terms import SaleTerms, Slice
from recondition.worth.track import Sale, SaleHasNoPrice, SaleResult

if TYPE_CHECKING:
    from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """The money of one sale. The premium is the buyer's, and never touches the seller's books."""

    hammer: Money
    commission: Money
    premium: Money
    fees: Money
    shop_commission: Money


def settle_sale(sale: Sale, terms: SaleTerms | None, currency: str) -> Settled:
    """Work a sale out: what it states, else what the vehicle's terms say.

    Raises SaleHasNoPrice, BadSlices.
    """
    zero = Money.zero(currency)
    if (sale.price is None) is (sale.result is SaleResult.SOLD):
        raise SaleHasNoPrice(sale.result)
    stated = terms.fees if terms is not None and sale.result is SaleResult.SOLD else None
    fees = next((each for each in (sale.fees, stated) if each is not None), zero)
    if sale.price is None:
        return Settled(hammer=zero, commission=zero, premium=zero, fees=fees, shop_commission=zero)
    commission = sale.commission or (terms.commission if terms else ())
    premium = sale.premium or (terms.premium if terms else ())
    own = _terms(sale, sale.price, commission, premium)
    exact = sale.price.fraction
    hammer = exact if sale.basis is Basis.HAMMER else hammer_of(exact, own)
    fallen = rounded(hammer, currency)
    return Settled(
        hammer=fallen,
        commission=_commission(sale, fallen, commission),
        premium=rounded(all_in(fallen.fraction, own) - fallen.fraction, currency),
        fees=fees,
        shop_commission=_commission(sale, fallen, sale.shop_commission),
    )


def _terms(
    sale: Sale, price: Money, commission: tuple[Slice, ...], premium: tuple[Slice, ...]
) -> SaleTerms:
    """Put the rates into the form the settlement reads."""
    return SaleTerms(
        vehicle=sale.vehicle,
        basis=Basis.HAMMER,
        as_is=ThreeAmounts(price, price, price),
        labour_cost_rate=Money.zero(price.currency),
        commission=commission,
        premium=premium,
    )


def _commission(sale: Sale, hammer: Money, slices: tuple[Slice, ...]) -> Money:
    """Give a sliced commission on a hammer."""
    kept: Fraction = seller_curve(_terms(sale, hammer, slices, ())).at(hammer.fraction)
    return rounded(hammer.fraction - kept, hammer.currency)
