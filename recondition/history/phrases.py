"""Short turns of phrase of the work history: what is put together with a figure, name or day.

The sentences and headings stand in ``wording``; another language translates both.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

from recondition.condition.findings import SEVERITY_WORDS, ExtentKind

_UNIT_SIGNS = {"um": "µm", "mm2": "mm²", "cm2": "cm²", "m2": "m²", "percent": "%", "in": "in."}
EXTENT_TAIL = {
    ExtentKind.COUNT: "in number",
    ExtentKind.LENGTH: "long",
    ExtentKind.AREA: "in area",
    ExtentKind.PART_OF_PANEL: "of the panel",
}


def term(word: StrEnum) -> str:
    """Give a word of a fixed list as the sheet shows it: the records' own words are English."""
    return word.value


def unit_sign(unit: str) -> str:
    """Give the sign of a unit as a reader expects it."""
    return _UNIT_SIGNS.get(unit, unit)


def listed(texts: Sequence[str]) -> str:
    """Write several things one after another: 3, 4 and 7."""
    return " and ".join(filter(None, (", ".join(texts[:-1]), *texts[-1:])))


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


def wheels(count: int) -> str:
    """Say what the number of digit wheels means for the reading."""
    digits = "digit wheel" if count == 1 else "digit wheels"
    return f"{count} {digits}: the counter starts again at zero after {'9' * count}."


def files(numbers: str) -> str:
    """Point at files of the evidence list."""
    return f"evidence {numbers}"


def kept_back(count: int) -> str:
    """Say how many files of the shop are not handed out."""
    many = "1 further file is" if count == 1 else f"{count} further files are"
    return f"{many} kept by the maker of this sheet and not handed out with it."


def gauge_name(number: int) -> str:
    """Name a gauge of this sheet by a letter, then by a number: A to Z, 27 and on."""
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    return letters[number] if number < len(letters) else str(number + 1)


def read_with(gauge: str) -> str:
    """Say with what something was read, and how that was checked."""
    return f"gauge and check {gauge}"


def on_bare_metal(shown: str, when: str) -> str:
    """Say what a gauge showed on bare metal."""
    return f"on bare metal {shown} {when}"


def on_foil(own: str, shown: str, when: str) -> str:
    """Say what a gauge showed on a foil of known thickness."""
    return f"on a foil of {own} {shown} {when}"


def lowest(shown: str) -> str:
    """Say what the lowest reading was."""
    return f"lowest {shown}"


def mean(shown: str, count: str) -> str:
    """Say what the mean was and of how many."""
    return f"mean {shown}, {count}"


def readings(count: int) -> str:
    """Say how many readings there are."""
    return "1 reading" if count == 1 else f"{count} readings"


def drops(count: int) -> str:
    """Say how many drops there are."""
    return "1 drop" if count == 1 else f"{count} drops"


YES, NO = "yes", "no"
RECORDS, LAST_HASH = "Records kept of the vehicle", "Hash of the last one"
SEVERITY = "severity"
DAY_NOT_KNOWN = "day not known"
LAST_EDITION, SUPERSEDED = "the last edition", "superseded"
AS_IT_ARRIVED = "as it arrived"


def made_by(shop: str, day: str) -> str:
    """Say who made the sheet, and when."""
    return f"Made by {shop} on {day}"


def takes_the_place(own: str, number: int, day: str) -> str:
    """Say which edition this one takes the place of."""
    return f"{own}; it takes the place of edition {number} of {day}"


def in_care_since(shop: str, day: str) -> str:
    """Say in whose care the vehicle was, and since when."""
    return f"{shop}, since {day}"


def recorded_on(day: str) -> str:
    """Say when a late entry was recorded."""
    return f"recorded on {day}"


def finding(number: int) -> str:
    """Point at a finding of this sheet."""
    return f"finding {number}"


def finding_named(number: int, defect: str) -> str:
    """Name a finding of this sheet at the beginning of a sentence."""
    return f"Finding {number}, {defect}"


def finding_in(number: int, defect: str) -> str:
    """Name a finding within a sentence."""
    return f"finding {number}, {defect}"


def outside(firm: str) -> str:
    """Name another shop that did the work."""
    return f"{firm} (another shop)"


def painted_over(count: int) -> str:
    """Say that places of a picture were painted over."""
    return "1 place painted over" if count == 1 else f"{count} places painted over"


def read_before_work(day: str) -> str:
    """Say that a panel was worked on after it was read last."""
    return f"not read after the work of {day}"


def on_material(material: str) -> str:
    """Say what a defect is on."""
    return f"on {material}"


def on_another(material: str, finish: StrEnum) -> str:
    """Say beside what a defect is on that its panel is recorded as something else."""
    return f"{material}; the panel is recorded as {term(finish)}"


def lamp(light: str) -> str:
    """Say in what light something was seen."""
    return f"lamp: {light}"


def before(severity_words: str) -> str:
    """Say what the severity was."""
    return f"Before: {severity_words}"


def after(severity_words: str) -> str:
    """Say what the severity is."""
    return f"After: {severity_words}"


def change(before_words: str, after_words: str) -> str:
    """Say in one run what the severity was and is."""
    return f"before: {before_words}; after: {after_words}"


def open_before(before_words: str) -> str:
    """Say what the severity was of something without a result."""
    return f"before: {before_words}"


def of_severity(words: str) -> str:
    """Name a severity within a sentence."""
    return f"severity {words}"


def severity_line(words: str) -> str:
    """Name a severity on a line of its own."""
    return f"Severity: {words}"


def earlier_outcome(told: str) -> str:
    """Tell of an outcome that no longer counts."""
    return f"Earlier outcome, {told}"


def batch(number: str) -> str:
    """Name a batch."""
    return f"batch {number}"


def after_of(number: int) -> str:
    """Say that a picture shows what another shows from before."""
    return f"after; before: {number}"


def work_of(day: str) -> str:
    """Name a piece of work by its day."""
    return f"work of {day}"


def withdrawn_on(day: str) -> str:
    """Say when an edition was withdrawn."""
    return f"withdrawn on {day}"


def size_bytes(shown: str) -> str:
    """Say how large a file is."""
    return f"{shown} bytes"


# Words in the drawings.
AS_FOUND, AS_IT_STANDS = "Findings as found", "Findings as they stand on {day}"
TIMELINE = "What happened when"
NOTHING_LEFT, NO_FAULT, NONE_RECORDED = "nothing left", "no fault found", "none recorded"
# Of a whole place, and of some of what was found there.
TILE_NOT_INSPECTED = ("not inspected", "some unseen")
TILE_NOT_STATED = ("not stated", "some not stated")
UNSEEN_SINCE = "unseen at the end"
SCALE = ("Worst severity", "none", "damage")
# The scale of severity in words that fit a tile.
SEVERITY_SHORT = ("none", "under the lamp", "close in daylight", "from two metres", "damage")
ARRIVAL, DATE_OF_SHEET = "Arrival", "Date of this sheet"
COUNTED_FINDINGS = ("finding", "findings")
COUNTED_WORK = ("entry of work", "entries of work")
COUNTED_OUTCOMES = ("outcome", "outcomes")
