"""Sheets of what may be shown on the public sheet, and of what is painted over on pictures."""

from __future__ import annotations

from recondition.history.records import Shows
from recondition.intake.spec import (
    ROW_REF,
    ColumnSpec,
    Parse,
    Sheet,
    choice,
    day,
    flag,
    own_ref,
    to,
    vehicle,
    words,
)


def _percent(field: str, heading: str, explanation: str) -> ColumnSpec:
    """Give a column of one figure in percent of the picture."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.PERCENT,
        unit="%",
        required=True,
        help=f"{explanation}, in percent of the upright picture",
        example="12.5",
    )


CONSENTS = Sheet(
    name="consents",
    kind="consent",
    explanation="What the work history may show besides, one row a consent: hours, a person, a "
    "firm, product names. Without a row nothing of it is shown. A changed row is a new version: "
    "add the day it was withdrawn.",
    ref_prefix="K-",
    columns=(
        own_ref("ref", ROW_REF, example="K-001"),
        choice("shows", "shows", tuple(Shows), "what may be shown", required=True),
        day("given_on", "given", "day it was given; it holds from then on", required=True),
        words("given_by", "given by", "who agreed and how; private", required=True),
        to("vehicle", "vehicle", "vehicle", "stock number; empty: every vehicle of the book"),
        to("person", "person", "person", "initials of the person who may be named"),
        to("supplier", "firm", "supplier", "ref of the firm that may be named"),
        day("withdrawn_on", "withdrawn", "day from which it no longer holds"),
    ),
)

REDACTIONS = Sheet(
    name="redactions",
    kind="redaction",
    explanation="Places on pictures that are painted over before a buyer sees them: plates of "
    "other cars, faces, addresses, keys. The kept file itself stays as it is.",
    ref_prefix="RD-",
    columns=(
        own_ref("ref", ROW_REF, example="RD-001"),
        vehicle(),
        to("document", "document", "document", "ref of the picture", required=True),
        _percent("from_left", "from left", "where the place begins"),
        _percent("from_top", "from top", "where the place begins"),
        _percent("width", "width", "how wide it is"),
        _percent("height", "height", "how high it is"),
        words("why", "why", "what is hidden; private", required=True),
        flag("off", "off", "yes where it is painted over no longer"),
    ),
)

HISTORY_SHEETS = (CONSENTS, REDACTIONS)
