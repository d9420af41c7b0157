"""Fitting a part: not before it came, and a decal only on metal of the right temperature.

The window and the time to stay dry are the decal's own sheet's, never a general figure:
published ranges differ from film to film.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from recondition.amounts import Quantity
from recondition.amounts.units import fahrenheit_to_celsius
from recondition.errors import Refused
from recondition.ledger.lines import FitWindow, Part, PartState, Sublet
from recondition.ledger.orders import Order, Ordered


class FitBeforeReceipt(Refused):
    """A part is fitted before it came."""

    def __init__(self, order: str, day: str, received: str | None) -> None:
        """Name the order, the day of the fit and the day it came."""
        came = f"came on {received}" if received else "has not come"
        super().__init__(
            f"the part is dated {day}, and order {order} {came}",
            todo="Enter the day it was received on the order, or correct the day of the line.",
        )


class SentBack(Refused):
    """A part is fitted that was sent back."""

    def __init__(self, order: str, day: str) -> None:
        """Name the order and the day it went back."""
        super().__init__(
            f"order {order} went back to the supplier on {day}",
            todo="Name the order that the part came from.",
        )


class OrderOfAnotherKind(Refused):
    """A part names an order of sublet work, or sublet work an order of a part."""

    def __init__(self, order: str, what: str) -> None:
        """Name the order and what it is for."""
        super().__init__(f"order {order} is of {what}", todo="Name the order that this came from.")


class SurfaceNotRead(Refused):
    """A decal with a window of temperature, fitted without the surface being read."""

    def __init__(self, window: str) -> None:
        """Show the window."""
        super().__init__(
            f"the sheet wants the surface {window}, and its temperature was not read",
            todo="Give the surface temperature, or say why it was not read ('outside because').",
        )


class OutsideItsWindow(Refused):
    """A decal fitted on a surface that is too cold or too hot."""

    def __init__(self, surface: str, window: str) -> None:
        """Show both."""
        super().__init__(
            f"the surface was at {surface}, and the sheet wants it {window}",
            todo="Let it reach that first; or, if it is fitted already, say why "
            "('outside because'), and it stands on the record.",
        )


class OrderOutOfOrder(Refused):
    """The days of an order do not follow one another."""

    def __init__(self, later: str, day: str, earlier: str, before: str) -> None:
        """Name both steps and their days."""
        super().__init__(
            f"{later} on {day}, before {earlier} on {before}", todo="Correct one of the two days."
        )


class NotATemperature(Refused):
    """A surface temperature in a unit of something else."""

    def __init__(self, found: str) -> None:
        """Show what was given."""
        super().__init__(f"{found} is no temperature", todo="Give it in C or F, as 18 C.")


def celsius(temperature: Quantity) -> Fraction:
    """Give a temperature in degrees Celsius, exactly. Raises NotATemperature."""
    if temperature.unit == "F":
        return fahrenheit_to_celsius(temperature.number)
    if temperature.unit != "C":
        raise NotATemperature(str(temperature))
    return temperature.fraction


_STEPS = ("quoted_on", "ordered_on", "received_on", "returned_on")


def check_order(order: Order) -> None:
    """Refuse an order whose days run backwards. Raises OrderOutOfOrder, NotATemperature."""
    if order.window is not None:
        for bound in (order.window.surface_low, order.window.surface_high):
            if bound is not None:
                celsius(bound)
    days = [(name, getattr(order, name)) for name in _STEPS if getattr(order, name)]
    for (earlier, before), (later, day) in pairwise(days):
        if day < before:
            raise OrderOutOfOrder(
                later.removesuffix("_on"), day.isoformat(), earlier.removesuffix("_on"),
                before.isoformat(),
            )  # fmt: skip


def check_from_order(entry: Part | Sublet, order: Order, called: str) -> None:
    """Refuse a line that cannot have come from its order.

    Raises OrderOfAnotherKind, SentBack, FitBeforeReceipt.
    """
    wanted = Ordered.PART if isinstance(entry, Part) else Ordered.SUBLET
    if order.what is not wanted:
        raise OrderOfAnotherKind(called, order.what.value)
    if order.returned_on is not None and order.returned_on <= entry.work_date:
        raise SentBack(called, order.returned_on.isoformat())
    if isinstance(entry, Part) and (
        order.received_on is None or order.received_on > entry.work_date
    ):
        came = order.received_on.isoformat() if order.received_on else None
        raise FitBeforeReceipt(called, entry.work_date.isoformat(), came)


def check_window(entry: Part, ordered: FitWindow | None) -> None:
    """Refuse a decal fitted outside its window without a reason; ``ordered`` is its order's.

    Raises SurfaceNotRead, OutsideItsWindow.
    """
    if entry.part_state is not PartState.FITTED or entry.outside_because:
        return
    given = entry.window or FitWindow()
    low = given.surface_low or (ordered.surface_low if ordered else None)
    high = given.surface_high or (ordered.surface_high if ordered else None)
    if low is None and high is None:
        return
    window = " and ".join(
        f"{word} {bound}" for word, bound in (("at least", low), ("at most", high)) if bound
    )
    if given.surface is None:
        raise SurfaceNotRead(window)
    surface = celsius(given.surface)
    if (low and surface < celsius(low)) or (high and surface > celsius(high)):
        raise OutsideItsWindow(str(given.surface), window)
