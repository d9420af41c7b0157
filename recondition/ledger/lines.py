"""Line items as they are entered: labour, part, consumable, sublet, charge, reversal.

An entry holds what somebody typed or measured. What follows from it (cost, billed amount,
shares) is worked out when the line is posted; see ``pricing``.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from recondition.amounts import Money, Quantity
from recondition.amounts.documents import Foreign, Settled
from recondition.fields import Id, Words
from recondition.ledger.items import CostItem
from recondition.materials.measuring import Measure


class LineKind(StrEnum):
    """The kinds of line item."""

    LABOUR = "labour"
    PART = "part"
    CONSUMABLE = "consumable"
    SUBLET = "sublet"
    CHARGE = "charge"
    COUNT = "count"
    REVERSAL = "reversal"


class Purpose(StrEnum):
    """What the cost of a line is for; decides where the books put it."""

    RECONDITIONING = "reconditioning"
    SPOILAGE = "spoilage"
    LANDED = "landed"
    SELLING = "selling"
    HOLDING = "holding"
    OVERHEAD = "overhead"


class Unlinked(StrEnum):
    """Why a line links to no finding."""

    ARRIVAL = "arrival"
    TRANSPORT = "transport"
    WHOLE_VEHICLE = "whole vehicle"
    STORAGE = "storage"
    SALE = "sale"
    OVERHEAD = "overhead"


PURPOSE_OF_UNLINKED = {
    Unlinked.ARRIVAL: Purpose.LANDED,
    Unlinked.TRANSPORT: Purpose.LANDED,
    Unlinked.WHOLE_VEHICLE: Purpose.RECONDITIONING,
    Unlinked.STORAGE: Purpose.HOLDING,
    Unlinked.SALE: Purpose.SELLING,
    Unlinked.OVERHEAD: Purpose.OVERHEAD,
}


class Standing(StrEnum):
    """How a number is known. Every report shows it."""

    MEASURED = "measured"
    COUNTED = "counted"
    INVOICED = "invoiced"
    ESTIMATED = "estimated"
    ASSUMED = "assumed"


class Origin(StrEnum):
    """What a part is, in words a buyer relies on."""

    ORIGINAL_RETAINED = "original retained"
    NEW_OLD_STOCK = "new-old-stock"
    REPRODUCTION = "reproduction"
    REFURBISHED = "refurbished"
    USED = "used"
    MODERN_SUBSTITUTE = "modern substitute"


class PartState(StrEnum):
    """What became of a part that was paid for."""

    FITTED = "fitted"
    SPOILED = "spoiled"


class Loss(StrEnum):
    """Whether a loss is the usual one of such work; decides where its cost goes.

    A normal loss (a blade, a pad) is part of what the job costs; an abnormal one is an expense
    of the period (after IAS 2, 16(a)). It stays on the vehicle's ledger either way.
    """

    NORMAL = "normal"
    ABNORMAL = "abnormal"


PURPOSE_OF_LOSS = {
    Loss.NORMAL: Purpose.RECONDITIONING,
    Loss.ABNORMAL: Purpose.SPOILAGE,
}


class Cause(StrEnum):
    """Why work had to be done again (common practice, no source)."""

    MATERIAL = "material"
    METHOD = "method"
    PERSON = "person"
    HIDDEN_FAULT = "hidden fault"
    SUPPLIER = "supplier"


class Payer(StrEnum):
    """Who bears work that is done again."""

    SHOP = "shop"
    SUPPLIER = "supplier"
    OWNER = "owner"


class HoursTaken(StrEnum):
    """How the hours of a labour line came about."""

    BY_THE_CLOCK = "by the clock"
    AFTERWARDS = "afterwards"


class Use(StrEnum):
    """What became of an amount taken out of stock."""

    USED = "used"
    WASTED = "wasted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rework:
    """That a line does work again because of our own result, and not as a planned stage.

    ``of`` is the line whose work is done again.
    """

    of: Id
    cause: Cause
    payer: Payer


@dataclass(frozen=True, slots=True, kw_only=True)
class FitWindow:
    """When a decal may be applied, as its own sheet says, and what was met (degrees Celsius).

    ``dry_for`` is how long it must stay dry before water may reach it.
    """

    surface_low: Quantity | None = None
    surface_high: Quantity | None = None
    surface: Quantity | None = None
    dry_for: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Link:
    """One finding that a line serves, with its weight against the line's other findings."""

    finding: Id
    weight: Decimal = Decimal(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class LineEntry:
    """What every line item has.

    ``vehicle`` is None for the shop's own overhead. ``work_date`` is when it happened,
    ``tax_point`` the date that decides the tax period, ``period`` the posting period
    (YYYY-MM): three different things. A line links to findings or says why to none.
    ``billed`` is what the owner of a consigned vehicle is asked for; cost is not charge.
    ``override`` is the reason of who answers for work that a caution or the film would stop; it
    is printed.
    ``words`` may be shown to a buyer; ``private_note`` never is.
    """

    vehicle: Id | None = None
    work_date: date
    words: Words
    links: tuple[Link, ...] = ()
    unlinked: Unlinked | None = None
    purpose: Purpose
    standing: Standing
    panel: str | None = None
    operation: str | None = None
    candidate: Id | None = None
    tax_point: date | None = None
    period: str | None = None
    billed: Money | None = None
    documents: tuple[Id, ...] = ()
    replaces: Id | None = None
    private_note: Words | None = None
    order: Id | None = None
    rework: Rework | None = None
    loss: Loss | None = None
    override: Words | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought(LineEntry):
    """What a line has besides that was bought for it alone.

    ``tax_code`` and ``tax`` are those of the document for the whole line; ``foreign`` is what the
    price is in the document's own currency, ``settled`` how it is paid.
    """

    supplier: Id | None = None
    invoice_number: str | None = None
    tax_code: str | None = None
    tax: Money | None = None
    foreign: Foreign | None = None
    settled: Settled | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Labour(LineEntry):
    """Hands-on hours of one person, priced at that person's rate on the work date.

    ``quantity`` is hands-on time. ``bay`` is how long the space was taken, ``elapsed`` the
    clock time from start to end, ``billed_time`` the time an owner pays for: four kinds of
    time, never mixed. ``started_at`` and ``ended_at`` are ISO 8601 with zone. ``taken`` is
    None where nothing is known but that hours were written down. ``film_removal`` is the film
    that the work is expected to take off its panel.
    """

    person: Id
    quantity: Quantity
    bay: Quantity | None = None
    elapsed: Quantity | None = None
    billed_time: Quantity | None = None
    taken: HoursTaken | None = None
    started_at: str | None = None
    ended_at: str | None = None
    clock: Id | None = None
    film_removal: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Part(Bought):
    """A part or decal with its origin; a spoiled one stays visible as a line of its own."""

    quantity: Quantity
    price: Money
    origin: Origin
    part_state: PartState = PartState.FITTED
    part_name: Words
    removed_part_kept: Words | None = None
    replaces_part: Words | None = None
    window: FitWindow | None = None
    outside_because: Words | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumable(LineEntry):
    """An amount of a product, and how it was measured.

    It leaves stock at what stock is worth; or, for a product that is never received into
    stock, it costs ``price`` for every ``price_per`` of it. ``use`` is None for what was simply
    used. ``receipt`` is the batch it came from, ``container`` the bottle, ``mixed`` the batch
    that was mixed ready for use.
    """

    product: Id
    quantity: Quantity | None = None
    price: Money | None = None
    price_per: Quantity | None = None
    use: Use | None = None
    measure: Measure | None = None
    receipt: Id | None = None
    container: Id | None = None
    mixed: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Count(LineEntry):
    """What a count found of a product; its line is the one adjustment of that count.

    ``words`` say why stock and count differ. A loss costs, a gain has a negative cost.
    """

    product: Id
    counted: Quantity
    measure: Measure | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sublet(Bought):
    """Work bought from another shop, as invoiced or quoted."""

    price: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge(Bought):
    """An amount with no hours, part or stock behind it: freight, duty, storage, a fee."""

    price: Money
    item: CostItem | None = None
    shared_out: Words | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reversal:
    """The exact negative of a posted line, with the reason for it.

    The old line stays readable; a corrected one is a new line that names it in ``replaces``.
    ``why`` is private; ``words`` are the reason in words that a buyer may read.
    """

    vehicle: Id | None = None
    reverses: Id
    work_date: date
    why: Words
    period: str | None = None
    words: Words | None = None


Entered = Labour | Part | Consumable | Sublet | Charge | Count


def document_day(entry: Entered | Reversal) -> date:
    """Give the day a line stands under in the journal: its tax point, else that of the work."""
    tax_point = None if isinstance(entry, Reversal) else entry.tax_point
    return tax_point or entry.work_date
