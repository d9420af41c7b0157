"""Tables of the condition bench: instruments, readings, tests, custody, rules of work."""

from __future__ import annotations

from recondition.book.columns import amount, count, flag, posted, refers, text

_STEP = (("step", "step of the work"), ("when", "before or after that step"))


def _read(name: str, *columns: object) -> None:
    """Declare a table of something read off a panel."""
    posted(
        name,
        refers("vehicle", "of which vehicle"),
        text("panel", "which panel", required=True),
        text("place", "place on the panel"),
        text("read_on", "when", required=True),
        *(text(*each) for each in _STEP),
        refers("read_by", "who read it"),
        *columns,  # type: ignore[arg-type]
    )


instrument = posted(
    "instrument",
    text("name", "what it is", required=True),
    text("principle", "how it works", required=True),
    *amount("uncertainty", "uncertainty of one reading"),
    text("serial", "serial number"),
)
_read(
    "film_reading",
    text("readings", "readings, canonical list", required=True),
    text("unit", "um or mil", required=True),
    refers("instrument", "gauge"),
    *amount("zero", "read on bare metal before"),
    *amount("foil", "thickness of the foil"),
    *amount("foil_read", "read on the foil before"),
    *amount("zero_after", "read on bare metal afterwards"),
    *amount("foil_after", "read on the foil afterwards"),
    *amount("surface", "temperature of the panel"),
)
_read(
    "gloss_reading",
    text("readings", "readings, canonical list", required=True),
    text("unit", "GU20, GU60 or GU85", required=True),
)
_read(
    "drop_reading",
    text("heights", "heights in mm, canonical list", required=True),
    text("widths", "widths in mm, canonical list", required=True),
    flag("soap_rinsed", "soap was rinsed off before"),
)
water_hardness = posted(
    "water_hardness",
    text("tap", "which tap", required=True),
    text("read_on", "when", required=True),
    *amount("calcium", "calcium"),
    *amount("magnesium", "magnesium"),
    *amount("strip", "strip, as CaCO3"),
    refers("read_by", "who read it"),
)
surface_test = posted(
    "surface_test",
    refers("vehicle", "of which vehicle"),
    text("panel", "which panel", required=True),
    text("test", "which test", required=True),
    text("answer", "its answer", required=True),
    text("tested_on", "when", required=True),
    text("place", "place on the panel"),
    *amount("took", "how long it took to show"),
    refers("tested_by", "who tested"),
)
custody_item = posted(
    "custody_item",
    refers("vehicle", "of which vehicle"),
    text("item_class", "what kind of thing", required=True),
    text("found_at", "ISO 8601 with zone", required=True),
    refers("found_by", "who found or took it"),
    count("pieces", "how many"),
    text("bag", "number of bag or seal"),
)
custody_move = posted(
    "custody_move",
    refers("vehicle", "of which vehicle"),
    refers("item", "which thing"),
    text("moved_at", "ISO 8601 with zone", required=True),
    refers("moved_by", "who moved it"),
    flag("seal_intact", "seal was intact"),
    flag("identity_seen", "a paper of whoever took it was looked at"),
)
work_rule = posted(
    "work_rule",
    text("task", "what it is about, canonical list", required=True),
    text("kind", "what it asks", required=True),
    text("other", "the other work, canonical list", required=True),
    text("scope", "where", required=True),
    text("since", "counted since, canonical list"),
    flag("only_after", "holds only after that"),
    text("unless", "not where it says, canonical list"),
    flag("stops", "blocks a posting"),
    flag("off", "rule of this name taken away"),
)
