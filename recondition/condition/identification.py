"""Identification tests: small, hidden, reversible first; what each can answer.

Questions and answers are the trade's (common practice; a water drop on leather was read).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from recondition.amounts import Quantity
from recondition.errors import Refused
from recondition.fields import Id, Words


class IdentificationTest(StrEnum):
    """Which test was made."""

    LEAD_SWAB = "lead swab"
    CLOTH = "light polish on a white cloth"
    SOLVENT_DAB = "solvent dab"
    LEATHER_DROP = "water drop on leather"
    WHEEL_METAL = "wheel metal"
    GLUE_TACK = "glue tack"
    RUBBER_SWAB = "swab on rubber or plastic"


NOT_DONE = "not done"
ANSWERS: dict[IdentificationTest, tuple[str, ...]] = {
    IdentificationTest.LEAD_SWAB: ("negative", "positive", NOT_DONE),
    IdentificationTest.CLOTH: ("colour on the cloth", "no colour", NOT_DONE),
    IdentificationTest.SOLVENT_DAB: ("softened", "no effect", NOT_DONE),
    IdentificationTest.LEATHER_DROP: ("absorbed", "beaded", NOT_DONE),
    IdentificationTest.WHEEL_METAL: ("coated", "bare", "painted", NOT_DONE),
    IdentificationTest.GLUE_TACK: ("none", "light", "heavy", NOT_DONE),
    IdentificationTest.RUBBER_SWAB: ("clean", "smeared", NOT_DONE),
}


class NotAnAnswer(Refused):
    """An answer that the test cannot give."""

    def __init__(self, test: IdentificationTest, found: str) -> None:
        """Show the answer and those there are."""
        super().__init__(
            f"{found!r} is no answer of the test {test.value!r}",
            todo=f"Write one of: {', '.join(ANSWERS[test])}.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceTest:
    """One identification test at one place. ``took`` is how long it took to show."""

    vehicle: Id
    panel: str
    test: IdentificationTest
    answer: str
    tested_on: date
    place: str | None = None
    took: Quantity | None = None
    tested_by: Id | None = None
    documents: tuple[Id, ...] = ()
    words: Words | None = None
    private_note: Words | None = None

    def check(self) -> None:
        """Refuse an answer that is none of the test's. Raises NotAnAnswer."""
        if self.answer not in ANSWERS[self.test]:
            raise NotAnAnswer(self.test, self.answer)
