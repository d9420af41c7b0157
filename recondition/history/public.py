"""The allow-list: which fields of which records a buyer may see. Everything else is private.

A field that is not named here cannot reach a work history, however it is called and whoever
adds it. Amounts, rates, people, suppliers, papers, posting dates, private notes, record ids
and the user's row names are left out on purpose; so are whole kinds (charges, reversals,
candidate work, sale terms, documents). Of a product only its generic material type is public.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Any

_WORK = ("work_date", "words", "panel", "operation")

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
            "odometer_shown",
            "odometer_unit",
            "odometer_wheels",
            "true_distance",
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
        "product": ("material_type",),
    },
)
"""The public fields of each kind of record, by the name of the kind."""


def project(kind: str, entry: object) -> dict[str, Any]:
    """Take the public fields of an entry, and only those.

    Raises KeyError for a kind that has no public field at all: showing one is a mistake in
    the program, never in the data.
    """
    return {name: getattr(entry, name) for name in PUBLIC[kind]}
