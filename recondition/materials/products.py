"""Products that the work uses up by measure, and what their sheets and labels say."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from recondition.amounts import Quantity
from recondition.amounts.units import UNITS
from recondition.errors import Refused
from recondition.fields import Id, Words

_PH = (Decimal(-2), Decimal(16))
_DENSITY = (Decimal("0.3"), Decimal(5))


class NotOnAnySheet(Refused):
    """A figure that no data sheet of a product of this trade prints."""

    def __init__(self, what: str, found: str, allowed: str) -> None:
        """Name the figure, what was given and what can be."""
        super().__init__(
            f"the {what} is given as {found}",
            todo=f"Look at the safety data sheet and the label again: {allowed}.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A consumable. ``material_type`` is the generic word a buyer may see; the name is not.

    ``unit`` is the unit its stock is counted in (ml, g, piece, use). ``container_size`` is
    how much one full container holds. ``density_g_ml`` comes from section 9 of the safety
    data sheet of ``sds_date``; None where that sheet says "not available" or was not read.
    ``ph`` and ``ph_to`` are the range that the sheet prints, equal bounds where it prints
    one figure. ``shelf_life_open`` is how long an opened container keeps. ``hazards`` are the
    sheet's hazard statements as printed, ``ingredients`` its section 3. ``allowed_because`` is
    why a product that is blocked otherwise may be used here. ``dilution_label`` is the label's
    text; the parts say how it is read, in parts of product and of water. ``expected_uses``
    makes one piece a reusable, counted in uses. Stock at or below ``reorder_at`` is due for
    an order.
    """

    name: str
    material_type: str
    unit: str
    supplier: Id | None = None
    container_size: Quantity | None = None
    density_g_ml: Decimal | None = None
    sds_date: date | None = None
    ph: Decimal | None = None
    ph_to: Decimal | None = None
    shelf_life_open: Quantity | None = None
    hazards: str | None = None
    dilution_label: str | None = None
    product_parts: Decimal | None = None
    water_parts: Decimal | None = None
    expected_uses: int | None = None
    reorder_at: Quantity | None = None
    ingredients: str | None = None
    allowed_because: Words | None = None

    def check(self) -> None:
        """Refuse figures that can only be slips. Raises NotOnAnySheet."""
        if self.density_g_ml is not None and not _DENSITY[0] <= self.density_g_ml <= _DENSITY[1]:
            found = f"{self.density_g_ml} g/ml"
            what, allowed = "density", f"{_DENSITY[0]} to {_DENSITY[1]} g/ml"
            raise NotOnAnySheet(what, found, allowed)
        for bound in (self.ph, self.ph_to):
            if bound is not None and not _PH[0] <= bound <= _PH[1]:
                raise NotOnAnySheet("pH", str(bound), "0 to 14, hardly ever beyond")  # noqa: EM101
        if self.ph is not None and self.ph_to is not None and self.ph > self.ph_to:
            found = f"{self.ph} to {self.ph_to}"
            raise NotOnAnySheet("pH", found, "the lower figure first")  # noqa: EM101
        life = self.shelf_life_open
        if life is not None and (UNITS[life.unit].dimension != "time" or life.number <= 0):
            what, allowed = "shelf life after opening", "a time such as 30 days"
            raise NotOnAnySheet(what, str(life), allowed)
        if self.product_parts is not None and self.product_parts <= 0:
            what, allowed = "dilution's parts of product", "above zero; neat is 1 and 0"
            raise NotOnAnySheet(what, f"{self.product_parts:f}", allowed)
        if self.water_parts is not None and self.water_parts < 0:
            what, allowed = "dilution's parts of water", "zero or more"
            raise NotOnAnySheet(what, f"{self.water_parts:f}", allowed)
        if self.expected_uses is not None and self.expected_uses < 1:
            what, allowed = "number of expected uses", "one or more"
            raise NotOnAnySheet(what, str(self.expected_uses), allowed)
