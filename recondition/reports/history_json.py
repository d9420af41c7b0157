"""The work history as JSON: a vehicle in schema.org's terms, and our whole sheet within it.

``subjectOf`` holds the sheet in terms of our own (their context is reset, so that none of
them is taken for one of schema.org's), and under ``provenance`` a W3C PROV-JSON document. Names
and order are stable; ``format`` counts up when they change. Every number is text, dates are ISO
8601, quantities have their unit, severity is 0 to 4 or null.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from recondition.condition.findings import SEVERITY_WORDS
from recondition.condition.vehicle import OdometerUnit
from recondition.history import phrases as ph
from recondition.history import wording as w
from recondition.history.page_evidence import alt_of
from recondition.history.prov import provenance
from recondition.history.recorded import as_text
from recondition.history.saying import Saying

if TYPE_CHECKING:
    from recondition.history.evidence import EvidenceRow
    from recondition.history.sheet import FindingRow, Identity, Sheet

FORMAT = "recondition work history 2"
OWN_TERMS = "urn:recondition:work-history:2#"

# UN/CEFACT Recommendation 20 codes, which schema.org's unitCode takes (from memory).
_UNIT_CODES = {OdometerUnit.KM: "KMT", OdometerUnit.MILES: "SMI"}


def document_of(sheet: Sheet) -> dict[str, Any]:
    """Give a sheet as one object, ready to be proven and sealed; equal sheets give equal ones."""
    return _vehicle(sheet)


def _vehicle(sheet: Sheet) -> dict[str, Any]:
    """Describe the vehicle in schema.org's terms; what is not known is left out."""
    car = sheet.identity
    known = {
        "name": car.designation,
        "vehicleModelDate": str(car.model_year) if car.model_year else None,
        "bodyType": car.body_style,
        "color": car.colour,
        "vehicleInteriorType": car.trim,
        "identifier": _identifiers(car),
        "vehicleIdentificationNumber": car.chassis_stamped or car.chassis_documents,
        "mileageFromOdometer": _odometer(car),
        "knownVehicleDamages": _damages(sheet),
        "image": [_picture(row, sheet) for row in sheet.evidence if row.picture],
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


def _identifiers(car: Identity) -> list[dict[str, str]]:
    """Give the numbers that the vehicle bears besides its chassis number."""
    numbers = {"engine_number": car.engine_number, "body_number": car.body_number}
    return [
        {"@type": "PropertyValue", "name": w.NAMES[name], "value": value}
        for name, value in numbers.items()
        if value
    ]


def _picture(row: EvidenceRow, sheet: Sheet) -> dict[str, str]:
    """Give a picture that is handed out with the sheet."""
    caption = alt_of(row, Saying(sheet.issue.locale))
    return {"@type": "ImageObject", "contentUrl": row.path, "caption": caption}


def _damages(sheet: Sheet) -> str:
    """List the faults known to remain, in one text."""
    faults = [_fault(row) for row in sheet.findings if row.remains]
    return "; ".join(faults) if faults else w.NO_REMAINING


def _fault(row: FindingRow) -> str:
    """Name one remaining fault, its place and its severity in words."""
    unseen = f", {w.AS_FOUND}; {w.UNSEEN_AT_END}" if row.unseen_at_end else ""
    return f"{row.panel}: {row.defect} (severity: {ph.severity(row.severity_now)}{unseen})"


def _own(sheet: Sheet) -> dict[str, Any]:
    """Give the whole sheet in our own terms, with the lists that a reader would ask for."""
    rows = sheet.findings
    return {
        "@context": [None, {"@vocab": OWN_TERMS}],
        "@type": "WorkHistory",
        "format": FORMAT,
        "language": w.LANGUAGE,
        **as_text(sheet),
        "chassis_numbers_differ": _differs(sheet.identity),
        "left_alone_on_purpose": _numbers(row for row in rows if row.left_alone),
        "known_remaining_faults": _numbers(row for row in rows if row.remains),
        "not_inspected": _numbers(row for row in rows if row.not_inspected),
        "severity_words": list(SEVERITY_WORDS),
        "limits": list(w.LIMITS_TEXT),
        "provenance": provenance(sheet),
    }


def _numbers(rows: Iterable[FindingRow]) -> list[str]:
    """List the numbers of findings."""
    return [str(row.number) for row in rows]


def _differs(car: Identity) -> bool:
    """Tell whether the documents show another chassis number than the one stamped."""
    both = car.chassis_stamped and car.chassis_documents
    return bool(both) and car.chassis_stamped != car.chassis_documents
