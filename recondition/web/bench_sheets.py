"""The sheets that are filled in at the bench: their forms are kept on the device, like its own."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from recondition.intake.sheets import SHEETS
from recondition.intake.spec import Parse

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from recondition.intake.spec import Sheet
    from recondition.web.forms import Field

KEPT = frozenset({
    "findings", "panels", "film readings", "gloss readings", "water drops", "surface tests",
    "outcomes", "custody items", "custody moves", "documents", "labour", "consumables",
    "containers", "mixed batches",
})  # fmt: skip
"""Names of sheets; their forms hold no money for a login without Right.MONEY."""
_OWN_FORMS = ("findings", "film readings", "documents", "consumables")
_WHEN = (Parse.DATE, Parse.MOMENT)


def of_a_car() -> Iterator[Sheet]:
    """Give the kept sheets about a vehicle for which the bench has no form of its own."""
    for sheet in SHEETS:
        about = any(column.field == "vehicle" for column in sheet.columns)
        if about and sheet.name in KEPT and sheet.name not in _OWN_FORMS:
            yield sheet


def left_open(sheet: Sheet, given: Mapping[str, str]) -> frozenset[str]:
    """Name the days and moments that a kept form leaves empty, since it may be sent days later.

    What is left empty is when the button was pressed (``forms.made_at``).
    """
    if sheet.name not in KEPT:
        return frozenset()
    return frozenset(
        c.field for c in sheet.columns if c.required and c.parse in _WHEN and c.field not in given
    )


def opened(fields: Iterable[Field], left: frozenset[str]) -> list[Field]:
    """Give the fields of a form with those that may be left empty saying what is taken then."""
    return [
        replace(f, value="", required=False, help=f"{f.help} Empty: when you press the button.")
        if f.name in left else f
        for f in fields
    ]  # fmt: skip
