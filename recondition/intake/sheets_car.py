"""Sheets of the car as it stands: vehicles, panels, findings, documents, outcomes."""

from __future__ import annotations

from recondition.condition.findings import Ended, ExtentKind, Stage
from recondition.condition.panels import PANELS, Area, Finish, Originality, Substrate
from recondition.condition.vehicle import Holding, OdometerUnit, TrueDistance
from recondition.intake.sheets_bench import STEP
from recondition.intake.spec import (
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
from recondition.ledger.documents import DocumentKind, Visibility

PANEL_NAMES = tuple(panel for panels in PANELS.values() for panel in panels)
SEVERITY_HELP = (
    "0 none, 1 only under the lamp, 2 visible close in daylight, 3 visible from two metres, "
    "4 damage, function or safety affected"
)


VEHICLES = Sheet(
    name="vehicles",
    kind="vehicle",
    explanation="One row a vehicle, as it arrived. Chassis numbers and odometer digits are kept "
    "exactly as typed.",
    columns=(
        own_ref("stock number", "text; leading zeros count", example="0007", named=True),
        text(
            "designation", "designation", "year, make and model as on the documents", required=True
        ),
        choice("holding", "whose it is", tuple(Holding), "own stock or consigned", required=True),
        to("owner", "owner", "person", "initials of the owner of a consigned vehicle"),
        text("body_style", "body style", "in your own words", example="coupe"),
        ColumnSpec(field="model_year", heading="model year", parse=Parse.WHOLE, help="four digits"),
        text("colour", "colour", "with the maker's code, if known"),
        text("trim", "trim", "upholstery and trim, with their code if known"),
        text("chassis_stamped", "chassis number as stamped", "letter by letter"),
        text("chassis_documents", "chassis number on documents", "letter by letter"),
        text("engine_number", "engine number", "as stamped"),
        text("body_number", "body number", "as stamped"),
        text("odometer_shown", "odometer shown", "the digits, leading zeros too", example="023415"),
        choice(
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
        choice(
            "true_distance",
            "true distance",
            tuple(TrueDistance),
            "what is known of the distance covered",
            default="not known",
        ),
        words(
            "odometer_words",
            "odometer rests on (a buyer may read)",
            "what the distance rests on: papers, wear, a statement",
        ),
        flag("imported", "imported", "whether it came from another country"),
        day("arrived_on", "arrived", "day of arrival"),
        amount(
            "film_floor",
            "film floor",
            "total film that must stay on its panels, in micrometres; empty: the book's",
            unit="um",
        ),
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
        text("panel", "panel", "left and right as seen from the driving seat", required=True),
        choice("substrate", "made of", tuple(Substrate), "the material beneath", default="unknown"),
        choice("finish", "finish", tuple(Finish), "the finish system", default="unknown"),
        choice(
            "originality",
            "originality",
            tuple(Originality),
            "what is believed of the finish",
            default="unknown",
        ),
        words("evidence", "evidence (a buyer may read)", "what the belief rests on"),
        flag("no_touch", "no touch", "yes where nobody may work on it"),
        amount(
            "film_floor",
            "film floor",
            "total film that must stay here, in micrometres; empty: the vehicle's",
            unit="um",
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
        text("panel", "panel", "left and right as seen from the driving seat", required=True),
        choice(
            "area", "area", tuple(Area), "empty where the panel is one of the list in 'read me'"
        ),
        text("defect", "defect", "what is wrong, in a few words", required=True),
        day("found_on", "found", "day found", required=True),
        text("material", "material", "what the place is made of", example="single-stage paint"),
        ColumnSpec(
            field="severity",
            heading="severity",
            parse=Parse.SEVERITY,
            help=f"{SEVERITY_HELP}; empty where it could not be inspected",
            example="2",
        ),
        words("spot", "where on the panel", "a buyer may read it", example="lower edge"),
        words("words", PUBLIC, "in your own words"),
        amount("extent", "extent", "how much of it, with its unit", example="120 mm"),
        choice("extent_kind", "extent is", tuple(ExtentKind), "what the extent counts"),
        text("lamp", "lamp", "light it was seen in"),
        choice("stage", "stage", tuple(Stage), "when it was found", default="arrival"),
        to("found_by", "found by", "person", "initials"),
        amount("distance", "distance", "of the eye, with its unit", example="500 mm"),
        *STEP,
        ColumnSpec(
            field="new_since_arrival",
            heading="new since arrival",
            parse=Parse.YES_NO,
            help="yes or no; empty where nobody can tell",
        ),
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
        choice("kind", "kind", tuple(DocumentKind), "what the file is", required=True),
        words(
            "title",
            "title",
            "what it shows; a buyer reads it where the file is listed",
            required=True,
        ),
        ColumnSpec(
            field="file",
            heading="file",
            parse=Parse.FILE,
            required=True,
            help="its name, with the folder as seen from this workbook",
            example="photos/bonnet.jpg",
        ),
        choice(
            "visibility",
            "who may see it",
            tuple(Visibility),
            "evidence stays private, listing may be shown to a buyer",
            default="evidence",
        ),
        to("finding", "finding", "finding", "ref of the finding it shows"),
        text("panel", "panel", "the panel it shows"),
        ColumnSpec(
            field="taken_at",
            heading="taken at",
            parse=Parse.MOMENT,
            help="date, time and zone",
            example="2024-05-02T09:30+02:00",
        ),
        amount(
            "camera_ahead",
            "camera ahead",
            "by how much the camera's clock was ahead; below zero: behind",
            unit="min",
            at_least=-5_000_000,
            example="3 min",
        ),
        to("before", "before", "document", "ref of the picture of the same place before"),
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
        choice("ended", "how it ended", tuple(Ended), "one of four", required=True),
        day("ended_on", "on", "which day", required=True),
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
