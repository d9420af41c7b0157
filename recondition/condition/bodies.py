"""Body styles: which panels a body has, and what a half-typed panel name means.

The words of the trade are read from the vehicle's own body style ("two-door coupe"); what
they do not say stays open, and a panel is only switched off where the style rules it out
(common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from recondition.condition.panels import PANELS, TOGETHER, Area, members
from recondition.errors import Refused


class Style(StrEnum):
    """The shape of a body."""

    SALOON = "saloon"
    COUPE = "coupe"
    CONVERTIBLE = "convertible"
    ROADSTER = "roadster"
    ESTATE = "estate"
    HATCHBACK = "hatchback"
    PICK_UP = "pick-up"
    VAN = "van"


_WORDS: dict[str, Style] = {
    "saloon": Style.SALOON,
    "sedan": Style.SALOON,
    "limousine": Style.SALOON,
    "berlina": Style.SALOON,
    "coupe": Style.COUPE,
    "coupé": Style.COUPE,
    "fastback": Style.COUPE,
    "hardtop coupe": Style.COUPE,
    "convertible": Style.CONVERTIBLE,
    "cabriolet": Style.CONVERTIBLE,
    "drophead": Style.CONVERTIBLE,
    "tourer": Style.CONVERTIBLE,
    "roadster": Style.ROADSTER,
    "spider": Style.ROADSTER,
    "spyder": Style.ROADSTER,
    "estate": Style.ESTATE,
    "wagon": Style.ESTATE,
    "shooting brake": Style.ESTATE,
    "hatchback": Style.HATCHBACK,
    "pick-up": Style.PICK_UP,
    "pickup": Style.PICK_UP,
    "van": Style.VAN,
}
_TWO_DOORS = ("two-door", "two door", "2-door", "2 door", "three-door", "3-door", "2d", "3d")
_MORE_DOORS = ("four-door", "four door", "4-door", "4 door", "five-door", "5-door", "4d", "5d")
_USUALLY_TWO = (Style.COUPE, Style.CONVERTIBLE, Style.ROADSTER, Style.PICK_UP)
_OPEN = (Style.CONVERTIBLE, Style.ROADSTER)
_TAILGATED = (Style.ESTATE, Style.HATCHBACK, Style.VAN)

_REAR_DOORS = (
    "left rear door",
    "right rear door",
    "left rear door glass",
    "right rear door glass",
)
_SOFT = ("soft-top outer", "hood frame")
_CLOSED = ("roof", "roof rails", "drip gutters", "sunroof", "left C-pillar", "right C-pillar")
_NO_REAR = ("rear seat", "left rear side glass", "right rear side glass")


@dataclass(frozen=True, slots=True)
class Body:
    """What a vehicle's body style says: its shape and whether it has rear doors.

    ``style`` is None where the words name no shape that is known; every panel is then on.
    """

    style: Style | None
    rear_doors: bool

    @property
    def off(self) -> frozenset[str]:
        """The panels on the list that this body has not."""
        gone: list[str] = [] if self.rear_doors else [*_REAR_DOORS]
        if self.style is None:
            return frozenset(gone)
        gone += _CLOSED if self.style in _OPEN else (*_SOFT, "hardtop")
        gone += ("boot lid",) if self.style in (*_TAILGATED, Style.PICK_UP) else ("tailgate",)
        if self.style in (Style.ROADSTER, Style.PICK_UP):
            gone += _NO_REAR
        return frozenset(gone)

    def has(self, panel: str) -> bool:
        """Tell whether the body has a panel; one that is not on the list it may have."""
        return panel not in self.off

    def panels(self) -> tuple[str, ...]:
        """List the panels that are on, in the order of the list, without names for several."""
        every = (panel for panels in PANELS.values() for panel in panels)
        return tuple(panel for panel in every if self.has(panel) and panel not in TOGETHER)

    def members(self, panel: str) -> tuple[str, ...]:
        """Give those panels of this body that a name stands for."""
        return tuple(each for each in members(panel) if self.has(each))


def body_of(words: str | None) -> Body:
    """Read a body style from the user's own words.

    Rear doors are there unless the words or the shape say otherwise.
    """
    text = (words or "").casefold()
    named = [style for word, style in _WORDS.items() if word in text]
    style = named[0] if named else None
    if any(word in text for word in _MORE_DOORS):
        return Body(style, rear_doors=True)
    two = any(word in text for word in _TWO_DOORS) or style in _USUALLY_TWO
    return Body(style, rear_doors=not two)


class PanelNotOnBody(Refused):
    """A panel that this body style has not."""

    def __init__(self, panel: str, style: str) -> None:
        """Name the panel and the body style."""
        super().__init__(
            f"a {style} has no {panel}",
            todo="Correct the panel, or the body style of the vehicle ('recondition vehicle add' "
            "with the same stock number makes a new version).",
        )


class PanelNotClear(Refused):
    """A half-typed panel name that fits several panels."""

    def __init__(self, typed: str, fitting: tuple[str, ...]) -> None:
        """Show what was typed and what it may mean."""
        super().__init__(
            f"{typed!r} may mean {', '.join(fitting[:8])}", todo="Type a little more of it."
        )


def completed(typed: str, body: Body) -> str:
    """Give the panel that a half-typed name means on this body: ``l f wing``, ``lfw``, ``bonn``.

    What fits no panel is the user's own name and comes back as it is. Raises PanelNotClear.
    """
    names = [p for panels in PANELS.values() for p in panels if body.has(p)]
    folded = " ".join(typed.casefold().replace("/", " ").split())
    if folded in {area.value for area in Area}:
        return typed
    for name in names:
        if name.casefold() == folded:
            return name
    tokens = folded.split()
    fits = [name for name in names if _fits(tokens, name)]
    whole = [name for name in fits if len(name.split()) == len(tokens)]
    initials = [name for name in names if _initials(name) == folded and len(folded) > 1]
    found = tuple(whole or fits or initials)
    if len(found) > 1:
        raise PanelNotClear(typed, found)
    return found[0] if found else typed


def _fits(tokens: list[str], name: str) -> bool:
    """Tell whether every token begins a word of a name, in the name's order."""
    words = iter(name.casefold().split())
    return all(any(word.startswith(token) for word in words) for token in tokens)


def _initials(name: str) -> str:
    """Give the first letters of a name's words."""
    return "".join(word[0] for word in name.casefold().split())
