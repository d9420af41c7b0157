"""The pattern of the film across a car: a panel that stands out is a remark, never a verdict.

A single reading says nothing; a panel far above the rest of the same car may have been
painted again, filled, or given a second coat at the works. The bound is the book's own
(setting ``film stands out``; common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from statistics import median

from recondition.condition.film import Figures, shown

OTHERS_MIN = 3


def remarks(means: Mapping[str, Figures], times: Decimal) -> dict[str, str]:
    """Give, by panel, the remark on a mean of ``times`` the median of the others or more.

    Needs three other panels at least; each remark names its evidence.
    """
    found = {}
    for panel, own in means.items():
        others = [other.mean_um for name, other in means.items() if name != panel]
        if len(others) < OTHERS_MIN:
            continue
        middle = median(others)
        if own.mean_um >= times * middle:
            found[panel] = (
                f"Stands out: mean {shown(own.mean_um)} um of {own.count} readings, against "
                f"{shown(min(others))} to {shown(max(others))} um (median {shown(middle)}) on "
                f"{len(others)} other panels. Painted again, filled or given a second coat could "
                "look like this; a remark, no verdict."
            )
    return found
