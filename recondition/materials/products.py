"""Products that the work uses up by measure."""

from __future__ import annotations

from dataclasses import dataclass

from recondition.fields import Id


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A consumable. ``material_type`` is the generic word a buyer may see; the name is not.

    ``unit`` is the unit its stock is counted in (ml, g, piece).
    """

    name: str
    material_type: str
    unit: str
    supplier: Id | None = None
