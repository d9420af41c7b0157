"""Terms of sale: what the seller keeps of a price, and the walls around the work."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from recondition.amounts import Money
from recondition.fields import Id, Words
from recondition.worth.estimates import Basis, ThreeAmounts


class SellsWhen(StrEnum):
    """Whether the sale day is fixed, or the vehicle sells when it is ready."""

    FIXED_DAY = "fixed day"
    WHEN_READY = "when ready"


@dataclass(frozen=True, slots=True)
class Slice:
    """One slice of a tiered rate: ``rate`` (a fraction) on the part of the hammer up to ``upto``.

    The last slice has no upper end (None). A flat rate is one slice without an end.
    """

    rate: Decimal
    upto: Money | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SaleTerms:
    """The terms one vehicle is to be sold on, as the user states them.

    ``as_is`` is the price today on ``basis``. ``commission`` (the seller's) and ``premium``
    (the buyer's) are slices of the hammer. ``fees`` is the sum of fixed sale fees. The two
    hourly rates are those the plan uses: the cost rate for the shop's own vehicle, the
    charge-out rate for an owner's. Limits are None where there is none.

    Work can begin on ``work_from`` (else at once) and must be over with its cures by the end of
    the ``cut_off``, or by ``cut_off_time`` (HH:MM) on it. A plan whose worst reasonable outcome
    loses more than ``loss_limit``, or work that costs more than ``ask_above``, is asked about. The
    next sale is ``next_sale_days`` later and costs ``next_sale_fee`` once more.
    """

    vehicle: Id
    basis: Basis
    as_is: ThreeAmounts
    labour_cost_rate: Money
    commission: tuple[Slice, ...] = ()
    premium: tuple[Slice, ...] = ()
    fees: Money | None = None
    charge_out_rate: Money | None = None
    sells: SellsWhen = SellsWhen.FIXED_DAY
    sale_day: date | None = None
    cut_off: date | None = None
    holding_per_day: Money | None = None
    cash_limit: Money | None = None
    hours_limit: Decimal | None = None
    owner_limit: Money | None = None
    work_from: date | None = None
    cut_off_time: str | None = None
    loss_limit: Money | None = None
    ask_above: Money | None = None
    next_sale_days: Decimal | None = None
    next_sale_fee: Money | None = None
    private_note: Words | None = None
