"""Exact money and quantities: units, currencies, rounding and the fair sharing of cents.

Nothing here knows of vehicles or books, and float is refused everywhere.
"""

from recondition.amounts.money import Money
from recondition.amounts.quantity import Quantity

__all__ = ["Money", "Quantity"]
