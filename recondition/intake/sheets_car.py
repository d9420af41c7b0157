"""Sheets of the car as it stands: vehicles, panels, findings, documents, outcomes."""

from __future__ import annotations

from recondition.condition.findings import Ended, ExtentKind, Stage
from recondition.condition.panels import PANELS, Area, Finish, Originality, Substrate
from recondition.condition.vehicle import Holding, OdometerUnit, TrueDistance
from recondition.intake.spec import (
    PRIVATE_NOTE,
    PUBLIC,
    ROW_REF,
    ColumnSpec,
    Parse,
    Sheet,
    own_ref,
    to,
    vehicle,
    words,
)
from recondition.ledger.documents import DocumentKind, Visibility

PANEL_NAMES = tuple(panel for panels in PANELS.values() for panel in panels)
SEVERITY_HELP = (
    "0 none, 1 only under the lamp, 2 visible close in daylight, 3 visible from two metres, "
    "4 damage, function or safety affected"
)


def _text(
    field: str, heading: str, explanation: str, *, required: bool = False, example: str = ""
) -> ColumnSpec:
    """Give a column of short text that is kept as it is."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.CODE,
        required=required,
        help=explanation,
        example=example,
    )


def _choice(  # noqa: PLR0913 - each is a separate choice of the caller
    field: str,
    heading: str,
    choices: tuple[str, ...],
    explanation: str,
    *,
    required: bool = False,
    default: str = "",
) -> ColumnSpec:
    """Give a column that takes one of a list."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.CHOICE,
        choices=choices,
        required=required,
        default=default,
        help=explanation,
    )


VEHICLES = Sheet(
    name="vehicles",
    kind="vehicle",
    explanation="One row a vehicle, as it arrived. Chassis numbers and odometer digits are kept "
    "exactly as typed.",
    columns=(
        own_ref("stock number", "text; leading zeros count", example="0007", named=True),
        _text(
            "designation", "designation", "year, make and model as on the documents", required=True
        ),
        _choice("holding", "whose it is", tuple(Holding), "own stock or consigned", required=True),
        to("owner", "owner", "person", "initials of the owner of a consigned vehicle"),
        _text("body_style", "body style", "in your own words", example="coupe"),
        ColumnSpec(field="model_year", heading="model year", parse=Parse.WHOLE, help="four digits"),
        _text("colour", "colour", "with the maker's code, if known"),
        _text("chassis_stamped", "chassis number as stamped", "letter by letter"),
        _text("chassis_documents", "chassis number on documents", "letter by letter"),
        _text("engine_number", "engine number", "as stamped"),
        _text(
            "odometer_shown", "odometer shown", "the digits, leading zeros too", example="023415"
        ),
        _choice(
            "odometer_unit",
            "odometer unit",
            tuple(OdometerUnit),
            "what it counts",
            default="unknown",
        ),
        ColumnSpec(
            field="odometer_wheels",
            heading="odometer wheels",
            parse=Parse.WHOLE,
            help="number of digit wheels; with five, 23415 may mean 123415",
        ),
        _choice(
            "true_distance",
            "true distance",
            tuple(TrueDistance),
            "what is known of the distance covered",
            default="not known",
        ),
        ColumnSpec(
            field="imported",
            heading="imported",
            parse=Parse.YES_NO,
            default="no",
            help="whether it came from another country",
        ),
        ColumnSpec(field="arrived_on", heading="arrived", parse=Parse.DATE, help="day of arrival"),
        PRIVATE_NOTE,
    ),
)

PANELS_SHEET = Sheet(
    name="panels",
    kind="panel",
    explanation="The surface of single panels: what it is made of, its finish, and whether it "
    "must not be touched. Only panels about which something is known.",
    ref_prefix="N-",
    columns=(
        own_ref("ref", ROW_REF, example="N-001"),
        vehicle(),
        _text("panel", "panel", "left and right as seen from the driving seat", required=True),
        _choice(
            "substrate", "made of", tuple(Substrate), "the material beneath", default="unknown"
        ),
        _choice("finish", "finish", tuple(Finish), "the finish system", default="unknown"),
        _choice(
            "originality",
            "originality",
            tuple(Originality),
            "what is believed of the finish",
            default="unknown",
        ),
        words("evidence", "evidence (a buyer may read)", "what the belief rests on"),
        ColumnSpec(
            field="no_touch",
            heading="no touch",
            parse=Parse.YES_NO,
            default="no",
            help="yes where nobody may work on it",
        ),
    ),
)

FINDINGS = Sheet(
    name="findings",
    kind="finding",
    explanation="What is wrong, panel by panel, as seen or measured. A finding is never edited "
    "away: how it ended goes to the sheet outcomes.",
    ref_prefix="F-",
    prefilled=True,
    columns=(
        own_ref("ref", ROW_REF, example="F-001"),
        vehicle(),
        _text("panel", "panel", "left and right as seen from the driving seat", required=True),
        _choice(
            "area", "area", tuple(Area), "empty where the panel is one of the list in 'read me'"
        ),
        _text("defect", "defect", "what is wrong, in a few words", required=True),
        ColumnSpec(
            field="found_on", heading="found", parse=Parse.DATE, required=True, help="day found"
        ),
        _text("material", "material", "what the place is made of", example="single-stage paint"),
        ColumnSpec(
            field="severity",
            heading="severity",
            parse=Parse.SEVERITY,
            help=f"{SEVERITY_HELP}; empty where it could not be inspected",
            example="2",
        ),
        words("spot", "where on the panel", "a buyer may read it", example="lower edge"),
        words("words", PUBLIC, "in your own words"),
        ColumnSpec(
            field="extent",
            heading="extent",
            parse=Parse.QUANTITY,
            help="how much of it, with its unit",
            example="120 mm",
        ),
        _choice("extent_kind", "extent is", tuple(ExtentKind), "what the extent counts"),
        _text("lamp", "lamp", "light it was seen in"),
        _choice("stage", "stage", tuple(Stage), "when it was found", default="arrival"),
        to("found_by", "found by", "person", "initials"),
        PRIVATE_NOTE,
    ),
)

DOCUMENTS = Sheet(
    name="documents",
    kind="document",
    explanation="Photographs, invoices and other files that prove something.",
    ref_prefix="D-",
    columns=(
        own_ref("ref", ROW_REF, example="D-001"),
        vehicle(required=False),
        _choice("kind", "kind", tuple(DocumentKind), "what the file is", required=True),
        words("title", "title", "what it shows", required=True),
        ColumnSpec(
            field="file",
            heading="file",
            parse=Parse.FILE,
            required=True,
            help="its name, with the folder as seen from this workbook",
            example="photos/bonnet.jpg",
        ),
        _choice(
            "visibility",
            "who may see it",
            tuple(Visibility),
            "evidence stays private, listing may be shown to a buyer",
            default="evidence",
        ),
        to("finding", "finding", "finding", "ref of the finding it shows"),
        _text("panel", "panel", "the panel it shows"),
        ColumnSpec(
            field="taken_at",
            heading="taken at",
            parse=Parse.MOMENT,
            help="date, time and zone",
            example="2024-05-02T09:30+02:00",
        ),
    ),
)

OUTCOMES = Sheet(
    name="outcomes",
    kind="outcome",
    explanation="How each finding ended. A later row about the same finding counts; the earlier "
    "one stays readable.",
    ref_prefix="O-",
    prefilled=True,
    columns=(
        own_ref("ref", ROW_REF, example="O-001"),
        vehicle(),
        to("finding", "finding", "finding", "ref of the finding", required=True),
        _choice("ended", "how it ended", tuple(Ended), "one of four", required=True),
        ColumnSpec(
            field="ended_on", heading="on", parse=Parse.DATE, required=True, help="which day"
        ),
        ColumnSpec(
            field="severity_after",
            heading="severity after",
            parse=Parse.SEVERITY,
            help=SEVERITY_HELP,
        ),
        words("words", PUBLIC, "what was done, in your own words"),
        words(
            "reason",
            "reason (a buyer may read)",
            "why it was left alone or not inspected; needed for these two",
        ),
        to("decided_by", "decided by", "person", "initials"),
        PRIVATE_NOTE,
    ),
)
