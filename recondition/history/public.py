"""The allow-list: which fields of which records a buyer may see. Everything else is private.

A field that is not named here cannot reach a work history, however it is called and whoever
adds it. Amounts, rates, people, suppliers, papers, posting dates, private notes, record ids
and the user's row names are left out on purpose; so are whole kinds (charges, candidate work,
sale terms, custody). Of a product only its generic material type is public. Hours, people,
firms and product names need a consent, each its own.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Any

from recondition.history.records import Shows

_WORK = ("work_date", "words", "panel", "operation")
_READ = ("panel", "place", "read_on", "step", "when", "words")

PUBLIC: MappingProxyType[str, tuple[str, ...]] = MappingProxyType(
    {
        "vehicle": (
            "designation",
            "model_year",
            "body_style",
            "colour",
            "chassis_stamped",
            "chassis_documents",
            "engine_number",
            "body_number",
            "trim",
            "odometer_shown",
            "odometer_unit",
            "odometer_wheels",
            "true_distance",
            "odometer_words",
            "arrived_on",
        ),
        "panel": ("panel", "substrate", "finish", "originality", "evidence", "no_touch"),
        "finding": (
            "area",
            "panel",
            "spot",
            "defect",
            "material",
            "words",
            "severity",
            "extent",
            "extent_kind",
            "lamp",
            "stage",
            "found_on",
        ),
        "outcome": ("ended", "ended_on", "severity_after", "words", "reason"),
        "labour": _WORK,
        "sublet": _WORK,
        "consumable": _WORK,
        # The quantity of a part (four tyres, a pair of decals) says what is on the vehicle;
        # that of labour is hours, which need the seller's consent and are not here.
        "part": (
            *_WORK,
            "part_name",
            "quantity",
            "origin",
            "part_state",
            "removed_part_kept",
        ),
        "reversal": ("words",),
        "product": ("material_type",),
        "instrument": ("principle", "uncertainty"),
        "film reading": (
            *_READ,
            "readings",
            "unit",
            "zero",
            "foil",
            "foil_read",
            "zero_after",
            "foil_after",
        ),
        "gloss reading": (*_READ, "readings", "unit"),
        "drop reading": (*_READ, "heights", "widths"),
        "surface test": ("panel", "place", "test", "answer", "tested_on", "words"),
        # Only of a file that may be listed; the name it has on the user's disk is never shown.
        "document": ("kind", "title", "panel", "taken_at", "camera_ahead"),
        "edition": ("number", "made_on", "code", "fingerprint"),
        "edition withdrawn": ("withdrawn_on", "reason"),
    },
)
"""The public fields of each kind of record, by the name of the kind."""

BY_CONSENT: MappingProxyType[Shows, MappingProxyType[str, tuple[str, ...]]] = MappingProxyType(
    {
        Shows.HOURS: MappingProxyType({"labour": ("quantity",)}),
        Shows.PERSON: MappingProxyType({"person": ("name",)}),
        Shows.FIRM: MappingProxyType({"supplier": ("name",)}),
        Shows.PRODUCTS: MappingProxyType(
            {"product": ("name",), "instrument": ("name",), "receipt": ("batch_number",)}
        ),
    }
)
"""What is public only while a consent to it is in force, by what the consent is to."""


def project(kind: str, entry: object) -> dict[str, Any]:
    """Take the public fields of an entry, and only those.

    Raises KeyError for a kind that has no public field at all: showing one is a mistake in
    the program, never in the data.
    """
    return {name: getattr(entry, name) for name in PUBLIC[kind]}


def by_consent(shows: Shows, kind: str, entry: object) -> dict[str, Any]:
    """Take the fields of an entry that a consent lets show. Raises KeyError as ``project``."""
    return {name: getattr(entry, name) for name in BY_CONSENT[shows][kind]}
