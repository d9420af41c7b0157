"""Every heading and sentence of the work history, in one place.

Verbs of record, no praise. "Original" is never said of a finish without "believed". The
limits defer to local law and to a lawyer; nothing here is advice or a warranty.
"""

from __future__ import annotations

from datetime import date

from recondition.amounts import Quantity
from recondition.condition.findings import SEVERITY_WORDS, Ended, ExtentKind, Stage
from recondition.condition.vehicle import OdometerUnit, TrueDistance
from recondition.ledger.lines import Origin

LANGUAGE = "en"
TITLE = "Work history"
NOT_RECORDED = "not recorded"
NOTHING_TAKEN_OFF = "-"
AS_FOUND = "as found"
UNSEEN_AT_END = "its state at the end was not inspected"
UNNAMED_SHOP = "a shop that gives no name"

_MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]

IDENTITY = "The vehicle"
CONDITION = "Condition on arrival"
PANELS = "Surfaces, panel by panel"
WORK = "Work done, in order of date"
BEFORE_AFTER = "Findings, before and after"
PARTS = "Parts and where they come from"
LEFT_ALONE = "Left alone on purpose"
REMAINING = "Known remaining faults"
NOT_INSPECTED = "Not inspected"
LIMITS = "What this sheet does not say"
WORDS_USED = "Words used on this sheet"
MADE = "How this sheet was made"

CONDITION_INTRO = (
    "Each finding keeps its number throughout this sheet. Left and right are as seen by a "
    "person sitting in the vehicle and facing forward."
)
BEFORE_AFTER_INTRO = (
    "Severity as found and as it stands on the date of this sheet, in words and on a scale that "
    "runs from none on the left to damage on the right: the ring is as found, the dot is as it "
    "stands. An earlier outcome that said something else is shown under the one in force."
)
WORK_INTRO = (
    "Materials are given by their generic type. An entry made more than seven days after the "
    "event shows the day it was recorded as well."
)
PANELS_INTRO = "What is said about a finish is belief unless the evidence beside it shows more."
LEFT_ALONE_INTRO = "Found, considered and deliberately not worked on."
REMAINING_INTRO = (
    "Faults that are known to be on the vehicle on the date of this sheet, those left alone on "
    "purpose among them. A fault that nobody has looked for is not on this list."
)
NOT_INSPECTED_INTRO = (
    "Nobody has looked at these, or could. That is different from having looked and found no fault."
)

NO_PANELS = "No panel's surface has been recorded."
NO_FINDINGS = "No finding has been recorded. That does not mean that there was none to make."
NO_WORK = "No work has been recorded."
NO_PARTS = "No part has been recorded as fitted."
NO_LEFT_ALONE = "Nothing has been recorded as left alone on purpose."
NO_REMAINING = "None is known. That is not a statement that there is none."
NO_NOT_INSPECTED = (
    "No place has been recorded as not inspected. What the findings do not mention has not "
    "been recorded as inspected either."
)
FOUND_LATER = "Found during or after the work"

LIMITS_TEXT = (
    (
        "This sheet comes from a cosmetic inspection and cosmetic work. It makes no statement "
        "about safety or roadworthiness, and it does not replace an examination by somebody "
        "qualified."
    ),
    (
        "It records what was seen, measured and done with the means at hand. Parts that were not "
        "opened up or taken off were not seen."
    ),
    (
        "Where a finish or a part is called believed original, that is a belief; the evidence for "
        "it, where there is any, stands beside it."
    ),
    (
        "A description binds the person who gives it, and so can leaving something out. What that "
        "means for a sale differs from place to place: the law there decides, and a lawyer there "
        "can say. Nothing on this sheet is a warranty."
    ),
)

ORIGIN_MEANING = {
    Origin.ORIGINAL_RETAINED: "the vehicle's own part, kept on it",
    Origin.NEW_OLD_STOCK: "a part of the time, never fitted before",
    Origin.REPRODUCTION: "a new copy of the part",
    Origin.REFURBISHED: "the vehicle's own part, or one like it, brought back to use",
    Origin.USED: "a part that has been on another vehicle",
    Origin.MODERN_SUBSTITUTE: "a newer part that does the same work and is not a copy",
}
ENDED_MEANING = {
    Ended.RESOLVED: "worked on, and no longer found at the final check of it",
    Ended.PARTLY_RESOLVED: "worked on, and less than before",
    Ended.LEFT_ALONE: "seen, considered and not worked on, for the reason given",
    Ended.NOT_INSPECTED: "not looked at, for the reason given",
}
MORE_MEANINGS = {
    "believed original": "consistent with the finish or part the vehicle left its maker with",
    "repainted": "painted again at some time, by whomever",
    "cleaned": "dirt and residue taken off, the surface itself not cut",
    "repaired": "made good without a new part",
    "restored": "brought towards a former state with new finish or new material",
    "conserved": "kept from getting worse, nothing replaced",
}

ANCHORED = (
    (
        "Made from the records kept about this vehicle, through a fixed list of fields that may "
        "be shown; private records count among them and are not shown. Each record contains the "
        "hash (SHA-256) of the one before it."
    ),
    (
        "If the shop's records still lead to the hash below, they have not been changed since "
        "the sheet was made. That proves what was written down by then, not that the vehicle was "
        "as described."
    ),
)
NOT_ANCHORED = (
    "Made from the records kept about this vehicle, through a fixed list of fields that may be "
    "shown. No hash of the records is printed on it."
)

STAGE_WORDS = {
    Stage.ARRIVAL: "on arrival",
    Stage.DURING_WORK: "during the work",
    Stage.FINAL_CHECK: "at the final check",
}
DISTANCE_WORDS = {
    TrueDistance.KNOWN: "The distance covered is recorded as known to agree with it.",
    TrueDistance.BELIEVED: "The distance covered is believed to agree with it, not known.",
    TrueDistance.NOT_KNOWN: "The distance covered is not known.",
}
UNIT_OF_ODOMETER = {
    OdometerUnit.KM: "km",
    OdometerUnit.MILES: "miles",
    OdometerUnit.UNKNOWN: "unit not known",
}
_UNIT_SIGNS = {"um": "µm", "mm2": "mm²", "cm2": "cm²", "m2": "m²", "percent": "%", "in": "in."}
_EXTENT_TAIL = {
    ExtentKind.COUNT: "in number",
    ExtentKind.LENGTH: "long",
    ExtentKind.AREA: "in area",
    ExtentKind.PART_OF_PANEL: "of the panel",
}
_ONE_PIECE = ("piece", "1")


def day(when: date) -> str:
    """Write a date so that no reader takes the month for the day: 4 March 2026."""
    return f"{when.day} {_MONTHS[when.month - 1]} {when.year}"


def severity(value: int | None) -> str:
    """Give a severity of 0 to 4 in words; None is one that nobody stated."""
    return "not stated" if value is None else SEVERITY_WORDS[value]


def severity_found(value: int | None) -> str:
    """Give the severity of a finding as found, where None is a place not inspected."""
    if value is None:
        return "not inspected"
    return "none: looked at, no fault found" if value == 0 else SEVERITY_WORDS[value]


def severity_at_end(value: int | None, *, unseen: bool) -> str:
    """Give the severity as it stands, where ``unseen`` says that nobody looked at the end."""
    return "not inspected" if unseen else severity(value)


def quantity(amount: Quantity) -> str:
    """Write a quantity with its unit's sign; pieces are told by their number alone."""
    if amount.unit == "piece":
        return amount.number_text
    return f"{amount.number_text} {_UNIT_SIGNS.get(amount.unit, amount.unit)}"


def part_name(name: str, amount: Quantity) -> str:
    """Name a part, with its quantity unless that is one piece."""
    if (amount.unit, amount.number_text) == _ONE_PIECE:
        return name
    return f"{name} ({quantity(amount)})"


def extent(amount: Quantity | None, kind: ExtentKind | None) -> str:
    """Say how much of a panel a finding takes up; empty where nobody said."""
    if amount is None:
        return kind.value if kind else ""
    tail = _EXTENT_TAIL.get(kind) if kind else None
    if tail:
        return f"{quantity(amount)} {tail}"
    return ", ".join(filter(None, (kind.value if kind else "", quantity(amount))))


def wheels(count: int) -> str:
    """Say what the number of digit wheels means for the reading."""
    digits = "digit wheel" if count == 1 else "digit wheels"
    return f"{count} {digits}: the counter starts again at zero after {'9' * count}."
