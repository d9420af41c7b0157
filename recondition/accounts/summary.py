"""Each vehicle's costs as a bookkeeper sorts them: in inventory, work for an owner, expensed.

Common practice, no source for one country: an own vehicle is inventory by itself, at its
landed cost and reconditioning; spoilage, selling, holding and overhead are expensed at once.
An owner's vehicle never enters inventory: there stand the cost of the work and what is
billed. General information; the local accountant decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from recondition.amounts import Money
from recondition.amounts.money import total
from recondition.ledger.lines import Purpose
from recondition.ledger.rollup import Axis, Piece, add_up, roll_up

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping


class Place(StrEnum):
    """Where a cost stands in the books."""

    INVENTORY = "in inventory"
    OWNER_WORK = "work for the owner, at cost"
    EXPENSED = "expensed"


_OF_THE_VEHICLE = (Purpose.LANDED, Purpose.RECONDITIONING)


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """One vehicle's totals; ``vehicle`` and ``consigned`` are None for the shop's own costs."""

    vehicle: str | None
    consigned: bool | None
    purposes: Mapping[Purpose, Money]
    places: Mapping[Place, Money]
    cost: Money
    billed: Money
    lines: tuple[str, ...]


def place_of(purpose: Purpose, *, consigned: bool | None) -> Place:
    """Say where a cost stands. A cost that belongs to no vehicle is always expensed."""
    if consigned is None or purpose not in _OF_THE_VEHICLE:
        return Place.EXPENSED
    return Place.OWNER_WORK if consigned else Place.INVENTORY


def purposes_in(place: Place, *, consigned: bool | None) -> tuple[Purpose, ...]:
    """Give the purposes whose costs stand in a place."""
    return tuple(purpose for purpose in Purpose if place_of(purpose, consigned=consigned) is place)


def summarise(
    pieces: Iterable[Piece], vehicles: Mapping[str, bool], currency: str
) -> tuple[Summary, ...]:
    """Summarise every vehicle, in the order given, and last the shop if it has costs.

    ``vehicles`` says of each id whether it is consigned. Raises CurrencyMismatch where a
    line is not in ``currency``.
    """
    groups: dict[str | None, list[Piece]] = {vehicle: [] for vehicle in vehicles}
    for piece in pieces:
        groups.setdefault(piece.key(Axis.VEHICLE), []).append(piece)
    return tuple(
        _summary(vehicle, group, currency, consigned=vehicles.get(vehicle) if vehicle else None)
        for vehicle, group in groups.items()
    )


def _summary(
    vehicle: str | None, among: list[Piece], currency: str, *, consigned: bool | None
) -> Summary:
    found = roll_up(among, Axis.PURPOSE, currency)
    zero = Money.zero(currency)
    purposes = {p: found[p].cost if p in found else zero for p in Purpose}
    whole = add_up(among, currency)
    return Summary(
        vehicle=vehicle,
        consigned=consigned,
        purposes=purposes,
        places={
            place: total((purposes[p] for p in purposes_in(place, consigned=consigned)), currency)
            for place in Place
        },
        cost=whole.cost,
        billed=whole.billed,
        lines=whole.lines,
    )
