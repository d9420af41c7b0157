"""An estimate as a slider with its number beside it, and what is said of where the advice turns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from recondition.worth.what_if import Figure

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from recondition.worth.what_if import Lever

_WORDS = {
    Figure.UPLIFT: "adds to the price",
    Figure.PERCENT: "adds to the price",
    Figure.CASH: "costs in cash",
    Figure.HOURS: "takes in hours",
}


@dataclass(frozen=True, slots=True)
class Slider:
    """One estimate that can be moved. ``typed`` is what its field holds."""

    lever: Lever
    typed: str

    @property
    def name(self) -> str:
        """The name of its field: which estimate, of which work."""
        return name_of(self.lever)

    @property
    def label(self) -> str:
        """What it is called."""
        return f"{self.lever.ref} {_WORDS[self.lever.figure]}"

    @property
    def likely(self) -> str:
        """The likely figure as it stands."""
        return str(self.lever.number(self.lever.likely))

    @property
    def turn(self) -> str:
        """Where the advice turns, for people; empty where no figure turns it."""
        lever = self.lever
        return "" if lever.turn is None else f"{lever.number(lever.turn):,f}"

    @property
    def words(self) -> str:
        """Say where the advice turns."""
        return turn_words(self.lever)

    @property
    def spread(self) -> str:
        """Give low and high as they stand."""
        lever = self.lever
        return f"{lever.number(lever.low):,f} to {lever.number(lever.high):,f} {lever.unit}"


def name_of(lever: Lever) -> str:
    """Name the field of an estimate."""
    return f"{lever.figure.value}:{lever.ref}"


def turn_words(lever: Lever) -> str:
    """Say at which likely figure the advice turns, all else as it is."""
    if lever.turn is None:
        return "No figure here changes the advice by itself."
    said = (
        _one_turn(lever, lever.turn) if lever.between is None else _two_turns(*lever.between, lever)
    )
    if lever.figure is Figure.HOURS:
        said += " By its cost alone; hours move the timetable too."
    if not lever.proven:
        said += f" Known within {lever.within.grouped}."
    return said


def _one_turn(lever: Lever, turn: int) -> str:
    """Say on which side of one figure the verdict is another."""
    adds, at = lever.figure.adds, f"{lever.number(turn):,f} {lever.unit}"
    if lever.inside:
        return f"{'Below' if adds else 'Above'} {at} this would be left."
    return f"{'From' if adds else 'Below'} {at}{' on' if adds else ''} this would be done."


def _two_turns(first: int, last: int, lever: Lever) -> str:
    """Say below and above which figures the verdict is sure, and what decides between them."""
    below, above = ("left", "done") if lever.figure.adds else ("done", "left")
    low, high = (f"{lever.number(each):,f} {lever.unit}" for each in (first, last))
    return (
        f"Below {low} this would be {below}, above {high} {above}; between them what touches less "
        "is taken."
    )


def sliders_of(among: Iterable[Lever], typed: Mapping[str, str]) -> Iterator[Slider]:
    """Give the sliders of levers; ``typed`` are figures that a form was sent with, by name."""
    for lever in among:
        yield Slider(lever, typed.get(name_of(lever)) or str(lever.number(lever.likely)))
