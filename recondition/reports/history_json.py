"""The work history as JSON: a vehicle in schema.org's terms, and our whole sheet within it.

``subjectOf`` holds the sheet in terms of our own (their context is reset, so that none of
them is taken for one of schema.org's). Names and order are stable; ``format`` counts up when
they change. Dates are ISO 8601, quantities text with their unit, severity 0 to 4 or null.
"""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from recondition.amounts import Quantity
from recondition.condition.findings import SEVERITY_WORDS
from recondition.condition.vehicle import OdometerUnit
from recondition.history import wording as w

if TYPE_CHECKING:
    from recondition.history.sheet import FindingRow, Identity, Sheet

FORMAT = "recondition work history 1"
OWN_TERMS = "urn:recondition:work-history:1#"

# UN/CEFACT Recommendation 20 codes, which schema.org's unitCode takes (from memory).
_UNIT_CODES = {OdometerUnit.KM: "KMT", OdometerUnit.MILES: "SMI"}


def to_json(sheet: Sheet) -> str:
    """Write a sheet as JSON text; equal sheets give equal text."""
    return json.dumps(_vehicle(sheet), ensure_ascii=False, indent=2) + "\n"


def _vehicle(sheet: Sheet) -> dict[str, Any]:
    """Describe the vehicle in schema.org's terms; what is not known is left out."""
    car = sheet.identity
    known = {
        "name": car.designation,
        "vehicleModelDate": str(car.model_year) if car.model_year else None,
        "bodyType": car.body_style,
        "color": car.colour,
        "vehicleIdentificationNumber": car.chassis_stamped or car.chassis_documents,
        "mileageFromOdometer": _odometer(car),
        "knownVehicleDamages": _damages(sheet),
        "subjectOf": _own(sheet),
    }
    head = {"@context": "https://schema.org", "@type": "Vehicle"}
    return head | {name: value for name, value in known.items() if value}


def _odometer(car: Identity) -> dict[str, str] | None:
    """Give the digits as text, for their leading zeros, and what is known of the distance."""
    if not car.odometer_shown:
        return None
    code = _UNIT_CODES.get(car.odometer_unit)
    unit = {"unitCode": code} if code else {"unitText": w.UNIT_OF_ODOMETER[car.odometer_unit]}
    return {
        "@type": "QuantitativeValue",
        "value": car.odometer_shown,
        **unit,
        "description": w.DISTANCE_WORDS[car.true_distance],
    }


def _damages(sheet: Sheet) -> str:
    """List the faults known to remain, in one text."""
    faults = [_fault(row) for row in sheet.findings if row.remains]
    return "; ".join(faults) if faults else w.NO_REMAINING


def _fault(row: FindingRow) -> str:
    """Name one remaining fault, its place and its severity in words."""
    unseen = f", {w.AS_FOUND}; {w.UNSEEN_AT_END}" if row.unseen_at_end else ""
    return f"{row.panel}: {row.defect} (severity: {w.severity(row.severity_now)}{unseen})"


def _own(sheet: Sheet) -> dict[str, Any]:
    """Give the whole sheet in our own terms, with the lists that a reader would ask for."""
    rows = sheet.findings
    return {
        "@context": [None, {"@vocab": OWN_TERMS}],
        "@type": "WorkHistory",
        "format": FORMAT,
        "language": w.LANGUAGE,
        **_plain(sheet),
        "chassis_numbers_differ": _differs(sheet.identity),
        "left_alone_on_purpose": [row.number for row in rows if row.left_alone],
        "known_remaining_faults": [row.number for row in rows if row.remains],
        "not_inspected": [row.number for row in rows if row.not_inspected],
        "severity_words": list(SEVERITY_WORDS),
        "limits": list(w.LIMITS_TEXT),
    }


def _differs(car: Identity) -> bool:
    """Tell whether the documents show another chassis number than the one stamped."""
    both = car.chassis_stamped and car.chassis_documents
    return bool(both) and car.chassis_stamped != car.chassis_documents


def _plain(value: Any) -> Any:  # noqa: ANN401 - any value that a sheet holds
    """Turn a value of the sheet into what JSON knows; the sheet holds public fields only."""
    match value:
        case Quantity():
            return {"number": value.number_text, "unit": value.unit}
        case date():
            return value.isoformat()
        case tuple():
            return [_plain(item) for item in value]
        case _ if is_dataclass(value):
            return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    return value
