"""Sheets of what was done and what it cost: labour, parts, consumables, sublets, charges."""

from __future__ import annotations

from recondition.intake.sheets_books import FOREIGN, ITEM, SETTLED, TAXED
from recondition.intake.sheets_owner import COLDEST, WINDOW
from recondition.intake.sheets_stock import PRODUCT, SUPPLIED
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
    money,
    number,
    own_ref,
    text,
    to,
    vehicle,
    words,
)
from recondition.ledger.lines import (
    Cause,
    Loss,
    Origin,
    PartState,
    Payer,
    Purpose,
    Standing,
    Unlinked,
    Use,
)
from recondition.materials.measuring import Way


def _line(name: str, kind: str, prefix: str, explanation: str, *own: ColumnSpec) -> Sheet:
    """Give a sheet of line items: what all lines have around what this kind has."""
    first = (
        own_ref("ref", ROW_REF, example=f"{prefix}001"),
        vehicle(required=False),
        ColumnSpec(
            field="work_date",
            heading="work date",
            parse=Parse.DATE,
            required=True,
            help="when it happened",
        ),
    )
    return Sheet(
        name=name,
        kind=kind,
        explanation=explanation
        + " Lines are posted once: a wrong one is reversed and entered anew.",
        ref_prefix=prefix,
        prefilled=True,
        columns=(*first, *own, *_LINKING, *_AGAIN, *_BOOKING),
    )


_LINKING = (
    words("words", PUBLIC, "what was done or bought", required=True),
    ColumnSpec(
        field="links",
        heading="findings",
        parse=Parse.LINKS,
        target="finding",
        help="findings it serves, in equal shares or with a weight each",
        example="F-001 60; F-002 40",
    ),
    choice("unlinked", "no finding because", tuple(Unlinked), "needed where no finding is named"),
    to("candidate", "candidate", "candidate", "ref of the candidate work it carries out"),
    text("panel", "panel", "panel worked on"),
    text("operation", "operation", "what kind of work, in a word of your own"),
)

_AGAIN = (
    to("order", "order", "order", "ref of the order it comes from"),
    to(
        "rework.of",
        "does again",
        "line",
        "ref of the line whose work is done again because of our own result",
    ),
    choice("rework.cause", "cause", tuple(Cause), "why it is done again"),
    choice(
        "rework.payer",
        "who pays",
        tuple(Payer),
        "who bears work that is done again; only an owner who pays is billed",
    ),
    choice(
        "loss",
        "loss",
        tuple(Loss),
        "for a spoiled part, a wasted rest and rework: normal is cost of the job, abnormal "
        "an expense; empty: by the setting 'loss rule'",
    ),
)

_BOOKING = (
    choice(
        "purpose",
        "purpose",
        tuple(Purpose),
        "what the cost is for; empty: it follows from the two columns before, "
        "spoilage for a spoiled part, reconditioning otherwise",
    ),
    choice(
        "standing",
        "how it is known",
        tuple(Standing),
        "empty: measured for labour and consumables, invoiced for the rest",
    ),
    day("tax_point", "tax point", "date that decides the tax period, as on the invoice"),
    ColumnSpec(
        field="period",
        heading="period",
        parse=Parse.MONTH,
        help="month it is booked in; empty: that of the tax point, else of the work date",
        example="2024-05",
    ),
    money(
        "billed",
        "billed to owner",
        "for consigned vehicles, where it is not hours at the charge-out rate or the cost",
    ),
    words(
        "override",
        "override because",
        "the reason of who answers for work that the film or a caution would stop; printed",
    ),
    DOCUMENT_REFS,
    to(
        "replaces",
        "replaces",
        "line",
        "ref of the reversed line that this one corrects; labour:L-001 where kinds share a ref",
    ),
    PRIVATE_NOTE,
)


LABOUR = _line(
    "labour",
    "labour",
    "L-",
    "Hands-on hours of one person, priced at that person's rate on the work date.",
    to("person", "person", "person", "initials from the sheet people", required=True),
    amount(
        "quantity",
        "hours",
        "hands-on time; a number is hours, or write the unit",
        unit="h",
        required=True,
        example="2.5",
    ),
    amount(
        "bay", "bay hours", "how long the bay was taken, where that is another figure", unit="h"
    ),
    amount(
        "elapsed",
        "clock hours",
        "time by the clock from start to end, pauses and cures included",
        unit="h",
    ),
    amount(
        "billed_time",
        "billed hours",
        "what an owner pays for, where that is another figure",
        unit="h",
        at_least=0,
    ),
    ColumnSpec(
        field="started_at",
        heading="started at",
        parse=Parse.MOMENT,
        help="with zone, where it is known",
    ),
    ColumnSpec(
        field="ended_at",
        heading="ended at",
        parse=Parse.MOMENT,
        help="with zone",
    ),
    amount(
        "film_removal",
        "film it takes",
        "expected off its panel; a number is micrometres",
        unit="um",
        at_least=0,
        example="4 um",
    ),
)

PARTS = _line(
    "parts",
    "part",
    "P-",
    "Parts and decals with their origin. One torn or broken in fitting is a row of its own, "
    "marked spoiled, and the one in its place another.",
    words("part_name", "part", "what part it is", required=True),
    amount(
        "quantity",
        "quantity",
        "how many; a number is pieces, empty means 1",
        unit="piece",
        default="1",
    ),
    money("price", "price each", "for one of them, without tax; empty: by the foreign amount"),
    choice(
        "origin",
        "origin",
        tuple(Origin),
        "what the part is, in words a buyer relies on",
        required=True,
    ),
    choice("part_state", "part state", tuple(PartState), "fitted or spoiled", default="fitted"),
    words("removed_part_kept", "removed part kept", "where the part taken off is now"),
    words("replaces_part", "replaces part", "which part of the vehicle it takes the place of"),
    *TAXED,
    *FOREIGN,
    SETTLED,
    *WINDOW,
    amount(
        "window.surface",
        "surface",
        "surface temperature when it was fitted",
        unit="C",
        at_least=COLDEST,
    ),
    words(
        "outside_because",
        "outside because",
        "why it was fitted outside its window, or the surface not read",
    ),
    *SUPPLIED,
)

CONSUMABLES = _line(
    "consumables",
    "consumable",
    "U-",
    "Amounts of a product, and how each was measured. What is kept in stock costs what stock is "
    "worth, and its price stays empty.",
    to("product", "product", "product", "ref from the sheet products", required=True),
    amount(
        "quantity",
        "amount used",
        "with its unit; of concentrate, never of the mix",
        example="35 ml",
    ),
    amount("measure.gross_before", "weight before", "container with cap or trigger", unit="g"),
    amount("measure.gross_after", "weight after", "the same container with the same cap", unit="g"),
    amount(
        "measure.resolution", "scale step", "smallest step of the scale; empty: 0.1 g", unit="g"
    ),
    amount("measure.sprayed", "amount of mix", "ready mix used of the mixed batch", unit="ml"),
    number("measure.strokes", "pump strokes", "strokes of a dosing pump"),
    amount("measure.per_stroke", "per stroke", "what one stroke gives, measured once", unit="ml"),
    ColumnSpec(
        field="measure.level_before",
        heading="level before %",
        parse=Parse.PERCENT,
        help="how full the container was, in percent",
    ),
    ColumnSpec(
        field="measure.level_after",
        heading="level after %",
        parse=Parse.PERCENT,
        help="how full it was afterwards",
    ),
    choice(
        "measure.way",
        "how measured",
        tuple(Way),
        "empty: by what is filled in; 'standard amount' takes the shop's own figure for "
        "the operation, shown as assumed",
    ),
    to("container", "container", "container", "label of the container"),
    to("receipt", "batch", "receipt", "ref of the receipt it came from"),
    to("mixed", "mixed batch", "mixed batch", "ref of the mixed batch it came from"),
    choice(
        "use",
        "used or wasted",
        tuple(Use),
        "empty: used; a rest thrown away or a pad scrapped early is wasted",
    ),
    money(
        "price",
        "price",
        "only for what is never kept in stock: what the amount in the next column costs",
    ),
    amount(
        "price_per",
        "price is for",
        "the amount that the price is for, with its unit",
        example="500 ml",
    ),
)

SUBLETS = _line(
    "sublets",
    "sublet",
    "B-",
    "Work bought from another shop.",
    money("price", "price", "as invoiced or quoted, without tax; empty: by the foreign amount"),
    *SUPPLIED,
    *TAXED,
    *FOREIGN,
    SETTLED,
)

CHARGES = _line(
    "charges",
    "charge",
    "X-",
    "Amounts with no hours, part or stock behind them: freight, duty, storage, a fee.",
    money(
        "price",
        "amount",
        "without tax; empty: by the foreign amount; below zero only for a credit note",
        below_zero=True,
    ),
    *SUPPLIED,
    ITEM,
    *TAXED,
    *FOREIGN,
    SETTLED,
)

COUNTS = Sheet(
    name="counts",
    kind="count",
    explanation="What a count of the shelf found, one row a product. The difference to stock is "
    "posted as one adjustment; earlier lines stay as they are.",
    ref_prefix="Q-",
    columns=(
        own_ref("ref", ROW_REF, example="Q-001"),
        day("work_date", "counted on", "day of the count", required=True),
        PRODUCT,
        amount("counted", "counted", "all that is there, with its unit", required=True, at_least=0),
        choice(
            "measure.way",
            "how measured",
            (Way.WEIGHED, Way.LEVEL, Way.COUNTED),
            "how the shelf was counted",
        ),
        words("words", "reason", "why it differs, or that it agrees", required=True),
        PRIVATE_NOTE,
    ),
)

LINE_SHEETS = (LABOUR, PARTS, CONSUMABLES, SUBLETS, CHARGES, COUNTS)
