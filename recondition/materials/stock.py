"""What stock of one product is worth: receipts, issues, counts and their reversals."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from recondition.amounts import Money
from recondition.fields import Id


class Method(StrEnum):
    """How an issue is valued; chosen once per book."""

    MOVING_AVERAGE = "moving average"
    FIRST_IN_FIRST_OUT = "first in first out"


class Flow(StrEnum):
    """Where a quantity and its cost are counted in the stock identity."""

    RECEIVED = "received"
    COUNT_GAIN = "count gain"
    ISSUED = "issued"
    WASTED = "wasted"
    COUNT_LOSS = "count loss"
    RETURNED = "returned"


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """What is left of one receipt (or count gain): ``quantity`` in the stock unit, its value."""

    receipt: Id
    received_on: date
    quantity: Decimal
    value: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """What is on hand of one product. ``layers`` are kept under first-in first-out only."""

    quantity: Decimal
    value: Money
    layers: tuple[Layer, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """What one event did to the stock of one product; it stands in the product's chain.

    ``source`` is the record that caused it (a receipt, a line, a count, a reversal).
    ``quantity`` and ``cost`` add to the flow, and are negative where something is taken back.
    ``taken`` are the layers an issue used up. ``on_hand`` and ``value`` are what is there
    afterwards, with its ``layers``.
    """

    product: Id
    source: Id
    flow: Flow
    moved_on: date
    quantity: Decimal
    cost: Money
    price_difference: Money
    on_hand: Decimal
    value: Money
    taken: tuple[Layer, ...] = ()
    layers: tuple[Layer, ...] = ()
