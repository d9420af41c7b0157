"""What a book keeps for the public sheet: consents, hidden places, what was let pass, editions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from recondition.errors import Refused
from recondition.fields import Id, Words

WHOLE = Decimal(100)  # a picture's width and height, in percent
HIT_LENGTH = 8


class Shows(StrEnum):
    """What the sheet shows only where somebody agreed; each is a switch of its own."""

    HOURS = "hours"
    PERSON = "person"
    FIRM = "firm"
    PRODUCTS = "product names"


class ConsentUnclear(Refused):
    """A consent that does not say whom it names, or names somebody it is not about."""

    def __init__(self, *, why: str, todo: str) -> None:
        """Say what does not go together."""
        super().__init__(f"the consent is not clear: {why}", todo=todo)


class NotABox(Refused):
    """A hidden place that has no size, or lies outside its picture."""

    def __init__(self, box: str) -> None:
        """Show the place that was given."""
        super().__init__(
            f"{box} is no place on a picture",
            todo="Give left, top, width and height in percent of the upright picture: the last "
            "two above 0, and none of it beyond 100.",
        )


class NotAHit(Refused):
    """Something else than the code of a hit that stopped a release."""

    def __init__(self, found: str) -> None:
        """Show what was given."""
        super().__init__(
            f"{found!r} is no code of a hit",
            todo=f"Copy the {HIT_LENGTH} characters that the stopped release printed beside it.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Consent:
    """That something may be shown on the public sheet, from whom and since when.

    ``vehicle`` is None where it holds for every vehicle of the book. ``person`` or ``supplier``
    is who may be named. ``given_by`` says who agreed and how, and is private. It holds from
    ``given_on`` until the day before ``withdrawn_on``.
    """

    shows: Shows
    given_on: date
    given_by: Words
    vehicle: Id | None = None
    person: Id | None = None
    supplier: Id | None = None
    withdrawn_on: date | None = None

    def check(self) -> None:
        """Refuse a consent that contradicts itself. Raises ConsentUnclear."""
        whom = (self.person is not None, self.supplier is not None)
        match self.shows:
            case Shows.PERSON if whom != (True, False):
                raise ConsentUnclear(
                    why="one to name a person names one person and no firm",
                    todo="Name the person alone.",
                )
            case Shows.FIRM if whom != (False, True):
                raise ConsentUnclear(
                    why="one to name a firm names one firm and no person",
                    todo="Name the firm alone.",
                )
            case Shows.HOURS | Shows.PRODUCTS if any(whom):
                raise ConsentUnclear(
                    why=f"one to show {self.shows.value} names nobody",
                    todo="Leave person and firm out.",
                )
        if self.withdrawn_on is not None and self.withdrawn_on < self.given_on:
            raise ConsentUnclear(
                why="it was withdrawn before it was given", todo="Correct one of the days."
            )

    def in_force(self, on: date) -> bool:
        """Tell whether it holds on a day."""
        return self.given_on <= on and (self.withdrawn_on is None or on < self.withdrawn_on)


@dataclass(frozen=True, slots=True, kw_only=True)
class Redaction:
    """A place on a picture that is painted over before anybody outside sees it.

    The four figures are in percent of the picture as it is seen upright. ``why`` is private.
    ``off`` takes the place back.
    """

    vehicle: Id
    document: Id
    from_left: Decimal
    from_top: Decimal
    width: Decimal
    height: Decimal
    why: Words
    off: bool = False

    def check(self) -> None:
        """Refuse a place of no size or outside the picture. Raises NotABox."""
        box = (self.from_left, self.from_top, self.width, self.height)
        sized = self.width > 0 and self.height > 0
        begins = self.from_left >= 0 and self.from_top >= 0
        ends = self.from_left + self.width <= WHOLE and self.from_top + self.height <= WHOLE
        if not (sized and begins and ends):
            raise NotABox("/".join(f"{figure:f}" for figure in box))


@dataclass(frozen=True, slots=True, kw_only=True)
class LetPass:
    """That one hit of the search through the finished files may stand, and why.

    ``hit`` is the code that the stopped release printed. ``reason`` is private.
    """

    vehicle: Id
    hit: str
    reason: Words
    decided_on: date

    def check(self) -> None:
        """Refuse what is no code of a hit. Raises NotAHit."""
        if len(self.hit) != HIT_LENGTH or not self.hit.isalnum():
            raise NotAHit(self.hit)


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """One release of a vehicle's public sheet.

    ``number`` counts 1, 2, 3 on each vehicle. ``head`` is the hash of its signed head and
    ``content`` the digest of what is public, both SHA-256 in hex; ``code`` is the short one
    printed on paper, ``fingerprint`` that of the key that signed. ``supersedes`` is the edition
    before, None for the first; ``let_pass`` what was let pass for this one.
    """

    vehicle: Id
    number: int
    made_on: date
    head: str
    code: str
    fingerprint: str
    content: str
    locale: str
    supersedes: Id | None = None
    let_pass: tuple[Id, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class EditionWithdrawn:
    """That an edition no longer stands. ``reason`` may be read by a buyer."""

    vehicle: Id
    edition: Id
    withdrawn_on: date
    reason: Words
