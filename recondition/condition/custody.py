"""Custody: keys, tools, papers and things found in a car, and where each is now.

Dealer-association advice was read: remove, list, keep together in a secure place, two people,
have it signed for on return. A description holds no opinion: "yellow-metal ring", not "gold".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from recondition.errors import Refused
from recondition.fields import Id, Words


class ItemClass(StrEnum):
    """What kind of thing it is."""

    KEY = "key"
    TOOL = "tool"
    PAPER = "paper"
    PART = "spare part"
    BELONGS_TO_CAR = "belongs to the car"
    PERSONAL = "personal"
    MONEY = "money"
    PERSONAL_PAPERS = "papers with personal data"
    MEDICINE = "medicine"
    RUBBISH = "rubbish"
    WEAPON = "weapon"
    UNKNOWN_SUBSTANCE = "unknown substance"
    HUMAN_REMAINS = "human remains"
    LIVE_ANIMAL = "live animal"


STOP = frozenset({
    ItemClass.WEAPON, ItemClass.UNKNOWN_SUBSTANCE, ItemClass.HUMAN_REMAINS, ItemClass.LIVE_ANIMAL,
})  # fmt: skip
STOP_WORDS = "Do not handle it. Leave it as it is and call the responsible authority."


@dataclass(frozen=True, slots=True, kw_only=True)
class CustodyItem:
    """One thing taken into custody. ``found_at`` is ISO 8601 with zone.

    ``place`` is where exactly it was found or handed over, ``kept_at`` where it was put first.
    A key's tag and the lock it fits stand in ``item``.
    """

    vehicle: Id
    item: Words
    item_class: ItemClass
    found_at: str
    place: Words
    kept_at: Words
    found_by: Id
    witness: Words | None = None
    pieces: int = 1
    bag: str | None = None
    documents: tuple[Id, ...] = ()
    private_note: Words | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CustodyMove:
    """One movement of a thing in custody: to where or whom, when, by whom, why.

    A release names who took it in ``released_to``; ``identity_seen`` says that a paper was
    looked at (no copy is kept).
    """

    vehicle: Id
    item: Id
    to: Words
    moved_at: str
    moved_by: Id
    reason: Words
    seal_intact: bool | None = None
    released_to: Words | None = None
    identity_seen: bool | None = None
    documents: tuple[Id, ...] = ()
    private_note: Words | None = None


class ReleasedAlready(Refused):
    """A movement of a thing that has left custody."""

    def __init__(self, ref: str, to: str) -> None:
        """Name the thing and who has it."""
        super().__init__(
            f"{ref} was released to {to}",
            todo="Enter it as a new thing if it came back.",
        )


class MovedBefore(Refused):
    """A movement before the last one, or before the thing was found."""

    def __init__(self, ref: str, given: str, last: str) -> None:
        """Name the thing and both moments."""
        super().__init__(
            f"{ref} is to have moved at {shown_moment(given)}, before its last entry of "
            f"{shown_moment(last)}",
            todo="Correct the moment; movements are entered in their order.",
        )


class DoNotHandle(Refused):
    """A thing that nobody of the shop may move, other than by handing it to an authority."""

    def __init__(self, ref: str, item_class: ItemClass) -> None:
        """Name the thing and its class."""
        super().__init__(
            f"{ref} is of the class {item_class.value!r}",
            todo=f"{STOP_WORDS} Its release to them is entered with 'released to'.",
        )


def check_move(
    ref: str, item: CustodyItem, before: Sequence[CustodyMove], move: CustodyMove
) -> None:
    """Refuse a movement that cannot follow those before it.

    Raises ReleasedAlready, MovedBefore, DoNotHandle.
    """
    for earlier in before:
        if earlier.released_to:
            raise ReleasedAlready(ref, earlier.released_to)
    last = before[-1].moved_at if before else item.found_at
    if datetime.fromisoformat(move.moved_at) < datetime.fromisoformat(last):
        raise MovedBefore(ref, move.moved_at, last)
    if item.item_class in STOP and not move.released_to:
        raise DoNotHandle(ref, item.item_class)


def whereabouts(item: CustodyItem, moves: Sequence[CustodyMove]) -> str:
    """Say where a thing is now: in custody at a place, or released to somebody."""
    if not moves:
        return f"{item.kept_at}, since {shown_moment(item.found_at)}"
    last = moves[-1]
    if last.released_to:
        return f"released to {last.released_to}, {shown_moment(last.moved_at)} ({last.to})"
    return f"{last.to}, since {shown_moment(last.moved_at)}"


def shown_moment(at: str) -> str:
    """Write a moment to the minute, with its zone."""
    return datetime.fromisoformat(at).isoformat(sep=" ", timespec="minutes")
