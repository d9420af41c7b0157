"""Cautions: what to remember or to stop at, for one task on one panel.

They remind and record; they never instruct beyond the label. Hazards are those of the trade
and of public guidance (acids, isocyanates, lead, asbestos and supports were read; the rest is
common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from recondition.condition.chemistry import HARMLESS, Nature, Surface, clash
from recondition.errors import Refused

DEFER = "The safety data sheet, local codes and licensed practice come first."


@dataclass(frozen=True, slots=True)
class Task:
    """What is done or planned: its operation and words, where, on what, and with what.

    ``surfaces`` are the panels it touches as far as they are on record. ``in_house`` is false
    for work bought from another shop.
    """

    operation: str = ""
    words: str = ""
    panel: str | None = None
    surfaces: tuple[Surface, ...] = ()
    product: Nature | None = None
    allowed_because: str = ""
    in_house: bool = True

    @property
    def text(self) -> str:
        """What the task says of itself, for matching: its operation or else its words."""
        return f"{self.operation or self.words} {self.panel or ''}".casefold()

    @property
    def whole_text(self) -> str:
        """Everything it says of itself; health is looked for in all of it."""
        return f"{self.operation} {self.words} {self.panel or ''}".casefold()


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: what it is about, the sentence that says why, and whether it stops work."""

    about: str
    why: str
    stops: bool = False

    def said(self) -> str:
        """Give the caution in one line, with who has the last word."""
        return f"{self.about}: {self.why} {DEFER}"


class Stopped(Refused):
    """Work that a caution stops until somebody answers for it."""

    def __init__(self, caution: Caution) -> None:
        """Say what stops it and why."""
        super().__init__(
            f"{caution.about}: {caution.why}",
            todo=f"{DEFER} Do it another way, send it out, or give a reason ('override "
            "because'), which is printed.",
        )


@lru_cache(maxsize=5_000)
def _parts(phrase: str) -> tuple[tuple[str, re.Pattern[str]], ...]:
    """Give the parts of ``a+b``, each with what finds it at the start of a word."""
    parts = [part.strip() for part in phrase.split("+")]
    return tuple((part, re.compile(rf"(?<![^\W_]){re.escape(part)}")) for part in parts)


def says(text: str, phrase: str) -> bool:
    """Tell whether a text holds every part of ``a+b``, each as the start of a word."""
    return all(part in text and starts.search(text) for part, starts in _parts(phrase))


@lru_cache(maxsize=5_000)
def _first_parts(phrases: tuple[str, ...]) -> re.Pattern[str]:
    """Give what finds the first part of any of some phrases."""
    firsts = "|".join(re.escape(_parts(phrase)[0][0]) for phrase in phrases)
    return re.compile(rf"(?<![^\W_])(?:{firsts})")


def says_any(text: str, phrases: Sequence[str]) -> bool:
    """Tell whether a text holds one of some phrases."""
    # Nearly every task is looked through for nearly every phrase, and holds none.
    if not phrases or not _first_parts(tuple(phrases)).search(text):
        return False
    return any(says(text, phrase) for phrase in phrases)


# What a task says, and the caution that then shows.
_REMINDERS: tuple[tuple[tuple[str, ...], Caution], ...] = (
    (
        ("brake", "clutch", "gasket", "old insulation", "calliper", "caliper"),
        Caution(
            "assume asbestos",
            "Old brake and clutch linings and gaskets may hold asbestos, which cannot be told by "
            "looking: never blow or dry-brush the dust; wet or enclosed methods, by a trained "
            "mechanic.",
        ),
    ),
    (
        ("underside", "wheels off", "wheel+off", "lift", "underbody", "suspension", "arch liner"),
        Caution(
            "stands, not jacks",
            "A jack alone lets a car fall on whoever is under it: stands on level hard floor at "
            "the right points, chocks, and a picture of the supports.",
        ),
    ),
    (
        ("heat", "steam", "hot air"),
        Caution(
            "heat",
            "Heat burns skin, lifts paint and cracks glass, and lights what a solvent left: note "
            "the setting, keep the distance, wipe no solvent on before.",
        ),
    ),
    (
        ("sand", "flat"),
        Caution(
            "sanding dust",
            "Old paint, primer and filler may hold much lead: work wet or with extraction, wash "
            "before eating, keep others away.",
        ),
    ),
    (
        ("coat",),
        Caution(
            "coating vapour",
            "Coatings give off solvent, and some sensitise for good: air the bay and wear the "
            "gloves that the sheet names.",
        ),
    ),
    (
        ("ozone", "odour bomb"),
        Caution(
            "ozone",
            "Ozone hurts lungs and ages rubber: sealed, unoccupied, timed, and aired afterwards.",
        ),
    ),
    (
        ("dry ice",),
        Caution(
            "dry ice",
            "It burns by cold, and its gas collects low in a bay: gloves, ventilation, alarm.",
        ),
    ),
    (
        ("airbag", "belt tensioner"),
        Caution(
            "airbags",
            "They can fire while being handled: licensed trade only.",
            stops=True,
        ),
    ),
    (
        ("battery", "fuel tank", "fuel pipe"),
        Caution(
            "fuel and battery",
            "Vapour and hydrogen light from one spark: isolate the battery, no ignition near.",
        ),
    ),
    (
        ("mould", "rodent", "droppings", "needle"),
        Caution(
            "infection",
            "Mould, droppings and needles infect: gloves, mask and tongs, and stop when in doubt.",
        ),
    ),
    (
        ("dark room", "dark-room"),
        Caution("dark room", "People trip and mirrors break in the dark: clear the floor first."),
    ),
)
_TWO_PACK = ("two-pack", "2k", "isocyanate")
_SPOKEN = (*_TWO_PACK, *(phrase for phrases, _ in _REMINDERS for phrase in phrases))


def reminds(task: Task) -> bool:
    """Tell whether any caution could follow from a task's words or its product."""
    product = task.product
    if product is not None and (product.words != HARMLESS or not product.known):
        return True
    return says_any(task.whole_text, _SPOKEN)


def cautions(task: Task) -> list[Caution]:
    """List what applies to a task, what stops it first."""
    found = [*_of_product(task)]
    spraying = says_any(task.whole_text, ("spray",))
    two_pack = says_any(task.whole_text, _TWO_PACK)
    isocyanate = task.product is not None and task.product.isocyanate
    if task.in_house and ((spraying and two_pack) or isocyanate):
        found.append(
            Caution(
                "two-pack spraying is sent out",
                "Isocyanate mist cannot be seen and is a leading cause of occupational asthma: a "
                "licensed spray shop with booth and air-fed masks does it.",
                stops=True,
            )
        )
    found += [
        caution
        for phrases, caution in _REMINDERS
        if says_any(task.whole_text, phrases) and (task.in_house or not caution.stops)
    ]
    return sorted(found, key=lambda caution: not caution.stops)


def _of_product(task: Task) -> list[Caution]:
    """List what a product's nature brings."""
    product = task.product
    if product is None:
        return []
    found = []
    if product.fluoride and not task.allowed_because:
        found.append(
            Caution(
                "hydrofluoric acid",
                f"{product.name} holds hydrofluoric acid or its acid salts, which burn deep "
                "without early pain; it is blocked unless it is explicitly allowed with a reason.",
                stops=True,
            )
        )
    for surface in task.surfaces:
        why = clash(product, surface)
        if why:
            found.append(Caution(f"{product.name} on {surface.panel}", f"{why}.", stops=True))
    chemical = product.acid or product.alkaline or product.solvent
    if chemical and task.panel and not task.surfaces:
        found.append(
            Caution(
                "surface not on record",
                f"What the {task.panel} is made of and finished with is not on record, and "
                f"{product.name} is {product.words}: look, and try it in a hidden place first.",
            )
        )
    if product.acid and "wheel" in task.whole_text:
        found.append(
            Caution(
                "mild cleaner first",
                "On wheels a mildly alkaline cleaner comes first; an acid one only for soil that "
                "it has not moved.",
            )
        )
    if product.corrosive:
        found.append(
            Caution(
                "corrosive",
                f"The pH of {product.name} points to skin corrosion: gloves, eye protection, "
                "water first and then concentrate.",
            )
        )
    if product.solvent:
        found.append(
            Caution(
                "solvent",
                "Its vapour burns and its rags heat themselves: no flame, spark or hot lamp near, "
                "lidded metal bin.",
            )
        )
    if not product.known:
        found.append(
            Caution(
                "no data sheet on file",
                f"Nothing is known of what {product.name} does to skin or surface.",
            )
        )
    return found
