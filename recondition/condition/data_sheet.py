"""Reading pH, density and hazards from the text of a safety data sheet.

Section 9 lists its items in another order since 2024 (pH was the fourth item, and is the
eleventh after GHS revision 7), so nothing is found by its letter: only by its name, within
section 9, and hazard statements within section 2 (29 CFR 1910.1200 App. D; the order of 2024
and the headings of sections 12 to 16 are from memory). What is read is shown to whoever
enters it, who answers for it; a sheet that says "not available" gives nothing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from recondition.errors import Refused

_SECTION = re.compile(r"^\s*(?:section\s*)?(\d{1,2})\s*[.:)\-\u2013]\s*\D", re.IGNORECASE)
_ITEM = r"^\s*(?:\(?[a-z0-9.]{1,4}\)?[.):]?\s+)?"
_NUMBER = r"(-?\d+(?:[.,]\d+)?)"
_PH = re.compile(
    rf"{_ITEM}pH\b[^0-9\n]*?{_NUMBER}(?:\s*(?:-|\u2013|to)\s*{_NUMBER})?", re.IGNORECASE
)
_DENSITY = re.compile(
    rf"{_ITEM}(?:relative\s+)?density[^0-9\n]*?{_NUMBER}\s*(?P<unit>g/ml|g/cm3|g/cm\u00b3|kg/l)?",
    re.IGNORECASE,
)
# "at 20 degrees C" and what stands in brackets are conditions, not the figure.
_CONDITIONS = re.compile(r"\([^()]*\)|\bat\s+\d+\s*\u00b0?\s*C\b")
_HAZARD = re.compile(r"\b(?:EUH|H)\d{3}[A-Za-z]{0,2}\b")
_COMPOSITION, _HAZARDS, _PROPERTIES = 3, 2, 9


class NotADataSheet(Refused):
    """A text in which the sections of a safety data sheet are not found."""

    def __init__(self) -> None:
        """Say what is looked for."""
        super().__init__(
            "the text has no section 9 of a safety data sheet",
            todo="Save the sheet as plain text with its section headings ('9. Physical and "
            "chemical properties'), or enter pH and hazards by hand.",
        )


@dataclass(frozen=True, slots=True)
class DataSheet:
    """What a safety data sheet says; None or empty where it says nothing.

    ``ph_to`` is the upper end of a range. ``ingredients`` is section 3 on one line.
    """

    ph: Decimal | None
    ph_to: Decimal | None
    density_g_ml: Decimal | None
    hazards: str
    ingredients: str


def read_data_sheet(text: str) -> DataSheet:
    """Read a sheet's text. Raises NotADataSheet."""
    sections = _sections(text)
    if _PROPERTIES not in sections:
        raise NotADataSheet
    properties = sections[_PROPERTIES]
    ph = _first(_PH, properties)
    density = _first(_DENSITY, properties)
    return DataSheet(
        ph=_number(ph[1]) if ph else None,
        ph_to=_number(ph[2]) if ph and ph[2] else None,
        density_g_ml=_number(density[1]) if density else None,
        hazards="; ".join(dict.fromkeys(_HAZARD.findall("\n".join(sections.get(_HAZARDS, []))))),
        ingredients="; ".join(
            line.strip() for line in sections.get(_COMPOSITION, []) if line.strip()
        ),
    )


def _sections(text: str) -> dict[int, list[str]]:
    """Part a sheet at its numbered headings, which rise from 1 to 16."""
    found: dict[int, list[str]] = {}
    current = 0
    for line in text.splitlines():
        match = _SECTION.match(line)
        if match and current < int(match[1]) <= 16:  # noqa: PLR2004 - a sheet's sections
            current = int(match[1])
            found[current] = []
        elif current:
            found[current].append(line)
    return found


def _first(pattern: re.Pattern[str], lines: list[str]) -> re.Match[str] | None:
    """Give the first line that says something by this name."""
    bare = (_CONDITIONS.sub("", line) for line in lines)
    return next((match for line in bare if (match := pattern.match(line))), None)


def _number(text: str) -> Decimal:
    """Read a number with point or comma."""
    return Decimal(text.replace(",", "."))
