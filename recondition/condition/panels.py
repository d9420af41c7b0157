"""Areas and panels, and what is recorded about each panel's surface.

Left and right are as seen by a person sitting in the car and facing forward. The list is
of a generic body (the trade's own words, no source); a panel that is not on it is accepted
as long as its area is named.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from recondition.amounts import Quantity
from recondition.errors import Refused
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


def _both(*names: str) -> tuple[str, ...]:
    """Name a panel of either side, left first."""
    return tuple(f"{side} {name}" for name in names for side in ("left", "right"))


_FOUR = ("left front", "right front", "left rear", "right rear")

PANELS: dict[Area, tuple[str, ...]] = {
    Area.EXTERIOR: (
        "all painted panels",
        "front bumper",
        "front apron",
        "grille",
        "bonnet",
        *_both("front wing", "front door", "rear door", "rear quarter", "sill"),
        *_both("A-pillar", "B-pillar", "C-pillar"),
        *_both("side stripe"),
        "both side stripes",
        *_both("side trim strip", "door mirror"),
        "door handles",
        "fuel flap",
        "headlamp rims",
        "number-plate plinth",
        "roof",
        "roof rails",
        "drip gutters",
        "sunroof",
        "soft-top outer",
        "hardtop",
        "hood frame",
        "boot lid",
        "tailgate",
        "rear panel",
        "rear bumper",
        "both bumpers",
        "rear lamps",
        "badges",
        "exhaust tips",
    ),
    Area.APERTURES: (
        "door jambs",
        "shuts",
        "bonnet underside",
        "boot gutter",
        "hinge pockets",
    ),
    Area.GLASS: (
        "all glass",
        "windscreen",
        *_both("front door glass", "rear door glass", "quarter light", "rear side glass"),
        "rear window",
        "headlamp glass",
    ),
    Area.WHEELS: (
        "all wheels",
        *(f"{corner} wheel" for corner in _FOUR),
        *(f"{corner} arch liner" for corner in _FOUR),
        *(f"{corner} brake" for corner in _FOUR),
        "tyres",
    ),
    Area.INTERIOR: (
        "dash",
        "dash top",
        "dash face",
        "instruments",
        "steering wheel",
        "console",
        "gear lever",
        "pedals",
        *_both("front seat"),
        "both front seats",
        "all seats",
        "rear seat",
        "seat belts",
        "door cards",
        "kick panels",
        "side trims",
        "headlining",
        "interior pillars",
        "carpets",
        "mats",
        "sill covers",
        "parcel shelf",
    ),
    Area.BOOT: ("boot floor", "boot sides", "boot lining", "lid lining", "spare well", "tools",
                "jack"),
    Area.ENGINE_BAY: (
        "bulkhead",
        "inner wings",
        "slam panel",
        "engine covers",
        "hoses",
        "labels and stickers",
        "battery tray",
    ),
    Area.UNDERSIDE: (
        "floor",
        "inner sills",
        "front suspension",
        "rear suspension",
        "exhaust",
        "fuel tank",
        "brake and fuel pipes",
    ),
    Area.DOCUMENTS: ("book pack", "keys", "history file", "tool roll", "car cover"),
}  # fmt: skip

_AREA_OF = {panel: area for area, panels in PANELS.items() for panel in panels}


def area_of(panel: str) -> Area | None:
    """Give the area of a panel on the list, None for a panel of the user's own naming."""
    return _AREA_OF.get(panel)


PAINTED = (
    "front apron",
    "bonnet",
    *_both("front wing", "front door", "rear door", "rear quarter", "sill"),
    *_both("A-pillar", "B-pillar", "C-pillar"),
    "roof",
    "hardtop",
    "boot lid",
    "tailgate",
    "rear panel",
)
"""Panels of the outside that carry paint."""

TOGETHER: dict[str, tuple[str, ...]] = {
    "all painted panels": PAINTED,
    "both side stripes": _both("side stripe"),
    "both bumpers": ("front bumper", "rear bumper"),
    "all glass": tuple(p for p in PANELS[Area.GLASS] if p != "all glass"),
    "all wheels": tuple(f"{corner} wheel" for corner in _FOUR),
    "both front seats": _both("front seat"),
    "all seats": (*_both("front seat"), "rear seat"),
}
"""Names that stand for several panels at once."""


def members(panel: str) -> tuple[str, ...]:
    """Give the panels that a name stands for: itself, or those it takes together."""
    return TOGETHER.get(panel, (panel,))


def same_panel(one: str | None, other: str | None) -> bool:
    """Tell whether two names share a panel; what names none is about the whole vehicle."""
    if one is None or other is None:
        return True
    return one == other or not set(members(one)).isdisjoint(members(other))


class OnePanelAtATime(Refused):
    """Readings of several panels under one name, from which no panel's own can be told."""

    def __init__(self, panel: str) -> None:
        """Name what was given and the panels it takes together."""
        super().__init__(
            f"{panel} stands for {', '.join(TOGETHER[panel][:4])} and others, and readings are of "
            "one panel",
            todo="Enter a row for each panel.",
        )


def check_one(panel: str) -> None:
    """Refuse a name that takes several panels together. Raises OnePanelAtATime."""
    if panel in TOGETHER:
        raise OnePanelAtATime(panel)


class EvidenceNeeded(Refused):
    """A panel's finish is believed to be something, and nothing says what that rests on."""

    def __init__(self, panel: str, belief: str) -> None:
        """Name the panel and the belief."""
        super().__init__(
            f"{panel} is said to be {belief!r}, and no evidence stands beside it",
            todo="Say what it rests on, such as readings or an invoice; or leave it unknown.",
        )


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
    """The surface of one panel of one vehicle, and whether it must not be touched.

    ``film_floor`` is the total film that must stay on this panel; None leaves it to the
    vehicle's, then to the book's.
    """

    vehicle: Id
    panel: str
    substrate: Substrate = Substrate.UNKNOWN
    finish: Finish = Finish.UNKNOWN
    originality: Originality = Originality.UNKNOWN
    evidence: Words | None = None
    no_touch: bool = False
    film_floor: Quantity | None = None

    def check(self) -> None:
        """Refuse a belief without evidence. Raises EvidenceNeeded."""
        if self.originality is not Originality.UNKNOWN and not self.evidence:
            raise EvidenceNeeded(self.panel, self.originality.value)
