"""Sheets of the condition bench: instruments, readings, tests, custody, rules of work."""

from __future__ import annotations

from recondition.condition.custody import ItemClass
from recondition.condition.film import Principle
from recondition.condition.findings import When
from recondition.condition.gloss import ANGLES
from recondition.condition.identification import ANSWERS, IdentificationTest
from recondition.condition.order import RuleKind, Scope
from recondition.intake.spec import (
    DOCUMENT_REFS,
    PRIVATE_NOTE,
    PUBLIC,
    ROW_REF,
    ColumnSpec,
    Parse,
    Sheet,
    amount,
    choice,
    day,
    flag,
    own_ref,
    text,
    to,
    vehicle,
    words,
)

PANEL = text("panel", "panel", "left and right as seen from the driving seat", required=True)
PLACE = text(
    "place",
    "place",
    "where on the panel; before and after are compared only at the same place",
    example="120 mm from the front edge",
)
STEP = (
    text("step", "step", "the step of the work that it was before or after"),
    choice("when", "before or after", tuple(When), "on which side of that step"),
)
_SEEN = (to("read_by", "read by", "person", "initials"), DOCUMENT_REFS)
_SAID = (words("words", PUBLIC, "in your own words"), PRIVATE_NOTE)
_COLDEST_C = -50


def _readings(explanation: str, example: str) -> ColumnSpec:
    """Give the column of several readings."""
    return ColumnSpec(
        field="readings",
        heading="readings",
        parse=Parse.NUMBERS,
        required=True,
        help=explanation,
        example=example,
    )


def _um(field: str, heading: str, explanation: str, *, at_least: int | None = None) -> ColumnSpec:
    """Give a column of a film thickness; a bare number is micrometres."""
    return amount(field, heading, explanation, unit="um", at_least=at_least)


INSTRUMENTS = Sheet(
    name="instruments",
    kind="instrument",
    explanation="Film gauges of the shop, and how far one reading of each may be off.",
    columns=(
        own_ref("instrument", "a short name of your own", example="G1", named=True),
        text("name", "name", "what it is, in generic words", required=True),
        choice(
            "principle",
            "principle",
            tuple(Principle),
            "decides which metal it reads",
            required=True,
        ),
        amount(
            "uncertainty",
            "uncertainty",
            "of one reading; a number is micrometres",
            unit="um",
            required=True,
            example="2.5 um",
        ),
        text("serial", "serial number", "for the shop only"),
    ),
)

FILM_READINGS = Sheet(
    name="film readings",
    kind="film reading",
    explanation="Total film on a panel: primer, colour and clear together. One row for each "
    "place; five readings or more. Left without a place they are of the panel as a whole.",
    ref_prefix="T-",
    prefilled=True,
    columns=(
        own_ref("ref", ROW_REF, example="T-001"),
        vehicle(),
        PANEL,
        _readings("all of them, parted by blanks or semicolons", "104 108 111 106 118"),
        choice("unit", "unit", ("um", "mil"), "1 mil is 25.4 um", default="um"),
        to("instrument", "instrument", "instrument", "which gauge", required=True),
        day("read_on", "read on", "which day", required=True),
        PLACE,
        *STEP,
        _um("zero", "zero", "what the gauge showed on bare metal before", at_least=-100),
        _um("foil", "foil", "thickness of the check foil"),
        _um("foil_read", "foil read", "what the gauge showed on it before"),
        _um("zero_after", "zero after", "on bare metal afterwards", at_least=-100),
        _um("foil_after", "foil after", "on the foil afterwards"),
        amount(
            "surface", "panel temperature", "a warm panel misleads", unit="C", at_least=_COLDEST_C
        ),
        *_SEEN,
        *_SAID,
    ),
)

GLOSS_READINGS = Sheet(
    name="gloss readings",
    kind="gloss reading",
    explanation="Gloss at one place, with its angle; three readings a place. Above 70 units at "
    "60 degrees, 20 degrees is asked for.",
    ref_prefix="G-",
    columns=(
        own_ref("ref", ROW_REF, example="G-001"),
        vehicle(),
        PANEL,
        _readings("all of them", "64.2 65.1 63.8"),
        choice("unit", "unit", tuple(ANGLES), "gloss units and their angle", required=True),
        day("read_on", "read on", "which day", required=True),
        PLACE,
        *STEP,
        *_SEEN,
        *_SAID,
    ),
)

DROP_READINGS = Sheet(
    name="water drops",
    kind="drop reading",
    explanation="How drops stand on a panel: height and width of each, after soap was rinsed "
    "off. Five to ten drops of the same volume after the same wait.",
    ref_prefix="W-",
    columns=(
        own_ref("ref", ROW_REF, example="W-001"),
        vehicle(),
        PANEL,
        ColumnSpec(
            field="drops",
            heading="drops",
            parse=Parse.PAIRS,
            required=True,
            unit="mm",
            help="height x width of each drop in millimetres",
            example="1.2x3.0; 1.1x3.1",
        ),
        ColumnSpec(
            field="soap_rinsed",
            heading="soap rinsed",
            parse=Parse.YES_NO,
            required=True,
            help="yes once soap was rinsed off; with soap on, drops prove nothing",
        ),
        day("read_on", "read on", "which day", required=True),
        PLACE,
        *STEP,
        *_SEEN,
        *_SAID,
    ),
)

WATER_HARDNESS = Sheet(
    name="water hardness",
    kind="water hardness",
    explanation="How hard a tap's water is: calcium and magnesium, or a strip. Dissolved solids "
    "are not hardness.",
    ref_prefix="H-",
    columns=(
        own_ref("ref", ROW_REF, example="H-001"),
        text("tap", "tap", "which one", required=True, example="wash bay"),
        day("read_on", "read on", "which day", required=True),
        amount("calcium", "calcium", "mg/l of calcium", unit="mg_l", at_least=0),
        amount("magnesium", "magnesium", "mg/l of magnesium", unit="mg_l", at_least=0),
        amount("strip", "strip", "mg/l as CaCO3, or grains", unit="mg_l", at_least=0),
        to("read_by", "read by", "person", "initials"),
    ),
)

SURFACE_TESTS = Sheet(
    name="surface tests",
    kind="surface test",
    explanation="Small tests in a hidden place: "
    + "; ".join(f"{test} ({', '.join(answers)})" for test, answers in ANSWERS.items())
    + ".",
    ref_prefix="ST-",
    columns=(
        own_ref("ref", ROW_REF, example="ST-001"),
        vehicle(),
        PANEL,
        choice("test", "test", tuple(IdentificationTest), "which test", required=True),
        text("answer", "answer", "one of that test's answers", required=True),
        day("tested_on", "tested on", "which day", required=True),
        PLACE,
        amount("took", "took", "how long it took to show", unit="s"),
        to("tested_by", "tested by", "person", "initials"),
        DOCUMENT_REFS,
        *_SAID,
    ),
)


def _moment(field: str, heading: str, explanation: str) -> ColumnSpec:
    """Give a column of a moment that must be there."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.MOMENT,
        required=True,
        help=explanation,
        example="2024-05-02T09:42+02:00",
    )


CUSTODY_ITEMS = Sheet(
    name="custody items",
    kind="custody item",
    explanation="Keys, tools, papers and things found in a car. Describe what is seen, without "
    "opinion: 'yellow-metal ring', not 'gold ring'. Weapons, unknown powder or liquid, human "
    "remains and live animals are not handled: call the responsible authority.",
    ref_prefix="CU-",
    columns=(
        own_ref("ref", ROW_REF, example="CU-001"),
        vehicle(),
        words("item", "what it is", "as it is seen; of a key its tag and lock", required=True),
        choice("item_class", "class", tuple(ItemClass), "what kind of thing", required=True),
        words("place", "found at", "exactly where, or who handed it over", required=True),
        words("kept_at", "put where", "where it is kept now", required=True),
        _moment("found_at", "when", "date, time and zone"),
        to("found_by", "found by", "person", "initials", required=True),
        words("witness", "witness", "who stood by"),
        ColumnSpec(
            field="pieces",
            heading="pieces",
            parse=Parse.WHOLE,
            default="1",
            help="how many; empty: one",
        ),
        text("bag", "bag or seal", "its number"),
        DOCUMENT_REFS,
        PRIVATE_NOTE,
    ),
)

CUSTODY_MOVES = Sheet(
    name="custody moves",
    kind="custody move",
    explanation="Each movement of a thing in custody, and its release. The release names who took "
    "it; no copy of an identity paper is kept.",
    ref_prefix="CM-",
    columns=(
        own_ref("ref", ROW_REF, example="CM-001"),
        vehicle(),
        to("item", "thing", "custody item", "ref of the thing", required=True),
        words("to", "to", "where to, or to whom", required=True),
        words("reason", "reason", "why it moved", required=True),
        _moment("moved_at", "when", "date, time and zone"),
        to("moved_by", "moved by", "person", "initials", required=True),
        ColumnSpec(
            field="seal_intact",
            heading="seal intact",
            parse=Parse.YES_NO,
            help="yes or no, where it was sealed",
        ),
        words("released_to", "released to", "who took it for good; empty while it is in custody"),
        ColumnSpec(
            field="identity_seen",
            heading="identity seen",
            parse=Parse.YES_NO,
            help="yes where a paper of whoever took it was looked at",
        ),
        DOCUMENT_REFS,
        PRIVATE_NOTE,
    ),
)


def _phrases(field: str, heading: str, explanation: str, *, required: bool = False) -> ColumnSpec:
    """Give a column of several phrases."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.TEXTS,
        required=required,
        help=f"{explanation}; a+b wants both words",
        example="polish; compound",
    )


WORK_RULES = Sheet(
    name="work rules",
    kind="work rule",
    explanation="Your own rules of what must come before what, beside the trade's "
    "('recondition rules list'). One under the name of a trade's rule takes its place.",
    columns=(
        own_ref("rule", "its name; a trade's own name replaces that rule", example="mask before "
                "sanding", named=True),
        _phrases("task", "work", "words of the work it is about", required=True),
        choice("kind", "asks", tuple(RuleKind), "what it asks of that work", required=True),
        _phrases("other", "other work", "words of the other work", required=True),
        words("why", "why", "the reason, in a sentence without a full stop", required=True),
        choice("scope", "where", tuple(Scope), "same panel, or anywhere", default=Scope.VEHICLE),
        _phrases("since", "since", "the other work counts only after the last of this"),
        flag("only_after", "only after that", "yes where it holds only after such work"),
        _phrases("unless", "unless", "words of work that it does not mean"),
        flag("stops", "stops", "yes where it blocks a posting until overridden"),
        flag("off", "off", "yes to take the rule of this name away"),
    ),
)  # fmt: skip

MEASURED_SHEETS = (
    FILM_READINGS,
    GLOSS_READINGS,
    DROP_READINGS,
    SURFACE_TESTS,
    CUSTODY_ITEMS,
    CUSTODY_MOVES,
)
BENCH_SHEETS = (INSTRUMENTS, WATER_HARDNESS, WORK_RULES)
