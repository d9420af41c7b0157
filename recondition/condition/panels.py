"""Areas and panels, and what is recorded about each panel's surface.

Left and right are as seen by a person sitting in the car and facing forward. The list is
of a generic body (the trade's own words, no source); a panel that is not on it is accepted
as long as its area is named.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from recondition.fields import Id, Words


class Area(StrEnum):
    """A large region of the vehicle."""

    EXTERIOR = "exterior"
    APERTURES = "apertures"
    GLASS = "glass"
    WHEELS = "wheels"
    INTERIOR = "interior"
    BOOT = "boot"
    ENGINE_BAY = "engine bay"
    UNDERSIDE = "underside"
    DOCUMENTS = "documents and equipment"


PANELS: dict[Area, tuple[str, ...]] = {
    Area.EXTERIOR: (
        "all painted panels",
        "front bumper",
        "front apron",
        "grille",
        "bonnet",
        "left front wing",
        "right front wing",
        "left front door",
        "right front door",
        "left rear door",
        "right rear door",
        "left rear quarter",
        "right rear quarter",
        "left sill",
        "right sill",
        "left side stripe",
        "right side stripe",
        "both side stripes",
        "roof",
        "soft-top outer",
        "hardtop",
        "boot lid",
        "tailgate",
        "rear panel",
        "rear bumper",
        "both bumpers",
        "badges",
        "exhaust tips",
    ),
    Area.APERTURES: ("door jambs", "shuts", "bonnet underside", "boot gutter"),
    Area.GLASS: (
        "all glass",
        "windscreen",
        "left front door glass",
        "right front door glass",
        "left rear side glass",
        "right rear side glass",
        "rear window",
    ),
    Area.WHEELS: (
        "all wheels",
        "left front wheel",
        "right front wheel",
        "left rear wheel",
        "right rear wheel",
        "tyres",
    ),
    Area.INTERIOR: (
        "dash",
        "instruments",
        "steering wheel",
        "console",
        "left front seat",
        "right front seat",
        "both front seats",
        "all seats",
        "rear seat",
        "door cards",
        "headlining",
        "carpets",
        "parcel shelf",
    ),
    Area.BOOT: ("boot floor", "boot lining", "spare well", "tools"),
    Area.ENGINE_BAY: ("bulkhead", "inner wings", "slam panel", "engine covers", "hoses"),
    Area.UNDERSIDE: ("floor", "front suspension", "rear suspension", "exhaust", "fuel tank"),
    Area.DOCUMENTS: ("book pack", "keys", "history file", "tool roll"),
}

_AREA_OF = {panel: area for area, panels in PANELS.items() for panel in panels}


def area_of(panel: str) -> Area | None:
    """Give the area of a panel on the list, None for a panel of the user's own naming."""
    return _AREA_OF.get(panel)


class Originality(StrEnum):
    """What is believed about a panel's finish; the evidence stands beside it."""

    BELIEVED_ORIGINAL = "believed original"
    REPAINTED = "repainted"
    UNKNOWN = "unknown"


class Substrate(StrEnum):
    """What the panel is made of; a film gauge reads steel and aluminium only."""

    STEEL = "steel"
    ALUMINIUM = "aluminium"
    COMPOSITE = "composite"
    PLASTIC = "plastic"
    OTHER = "other"
    UNKNOWN = "unknown"


class Finish(StrEnum):
    """The finish system on the panel."""

    SINGLE_STAGE = "single-stage"
    BASE_CLEAR = "base/clear"
    LACQUER = "lacquer or cellulose"
    BARE = "bare"
    PLATED = "plated"
    WRAPPED = "wrapped"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """The surface of one panel of one vehicle, and whether it must not be touched."""

    vehicle: Id
    panel: str
    substrate: Substrate = Substrate.UNKNOWN
    finish: Finish = Finish.UNKNOWN
    originality: Originality = Originality.UNKNOWN
    evidence: Words | None = None
    no_touch: bool = False
