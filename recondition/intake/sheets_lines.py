"""Sheets of what was done and what it cost: labour, parts, consumables, sublets, charges."""

from __future__ import annotations

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
from recondition.ledger.lines import Origin, PartState, Purpose, Standing, Unlinked


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
        columns=(*first, *own, *_LINKING, *_BOOKING),
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
    ColumnSpec(
        field="unlinked",
        heading="no finding because",
        parse=Parse.CHOICE,
        choices=tuple(Unlinked),
        help="needed where no finding is named",
    ),
    to("candidate", "candidate", "candidate", "ref of the candidate work it carries out"),
    ColumnSpec(field="panel", heading="panel", parse=Parse.CODE, help="panel worked on"),
    ColumnSpec(
        field="operation",
        heading="operation",
        parse=Parse.CODE,
        help="what kind of work, in a word of your own",
    ),
)

_BOOKING = (
    ColumnSpec(
        field="purpose",
        heading="purpose",
        parse=Parse.CHOICE,
        choices=tuple(Purpose),
        help="what the cost is for; empty: it follows from the two columns before, "
        "spoilage for a spoiled part, reconditioning otherwise",
    ),
    ColumnSpec(
        field="standing",
        heading="how it is known",
        parse=Parse.CHOICE,
        choices=tuple(Standing),
        help="empty: measured for labour and consumables, invoiced for the rest",
    ),
    ColumnSpec(
        field="tax_point",
        heading="tax point",
        parse=Parse.DATE,
        help="date that decides the tax period, as on the invoice",
    ),
    ColumnSpec(
        field="period",
        heading="period",
        parse=Parse.MONTH,
        help="month it is booked in; empty: that of the tax point, else of the work date",
        example="2024-05",
    ),
    ColumnSpec(
        field="billed",
        heading="billed to owner",
        parse=Parse.MONEY,
        unit="money",
        at_least=0,
        help="for consigned vehicles, where it is not hours at the charge-out rate or the cost",
    ),
    ColumnSpec(
        field="documents",
        heading="documents",
        parse=Parse.TO_MANY,
        target="document",
        help="refs of the files that prove it",
        example="D-001; D-002",
    ),
    ColumnSpec(
        field="replaces",
        heading="replaces",
        parse=Parse.TO,
        target="line",
        help="ref of the reversed line that this one corrects; "
        "labour:L-001 where kinds share a ref",
    ),
    PRIVATE_NOTE,
)

_SUPPLIED = (
    to("supplier", "supplier", "supplier", "ref from the sheet suppliers"),
    ColumnSpec(
        field="invoice_number",
        heading="invoice number",
        parse=Parse.CODE,
        help="as on the supplier's invoice",
    ),
)


def _price(heading: str, explanation: str) -> ColumnSpec:
    """Give the price column of a kind of line."""
    return ColumnSpec(
        field="price",
        heading=heading,
        parse=Parse.MONEY,
        unit="money",
        required=True,
        at_least=0,
        help=explanation,
    )


LABOUR = _line(
    "labour",
    "labour",
    "L-",
    "Hands-on hours of one person, priced at that person's rate on the work date.",
    to("person", "person", "person", "initials from the sheet people", required=True),
    ColumnSpec(
        field="quantity",
        heading="hours",
        parse=Parse.QUANTITY,
        unit="h",
        required=True,
        help="hands-on time; a number is hours, or write the unit",
        example="2.5",
    ),
)

PARTS = _line(
    "parts",
    "part",
    "P-",
    "Parts and decals with their origin. One torn or broken in fitting is a row of its own, "
    "marked spoiled.",
    words("part_name", "part", "what part it is", required=True),
    ColumnSpec(
        field="quantity",
        heading="quantity",
        parse=Parse.QUANTITY,
        unit="piece",
        default="1",
        help="how many; a number is pieces, empty means 1",
    ),
    _price("price each", "for one of them, without tax that you get back"),
    ColumnSpec(
        field="origin",
        heading="origin",
        parse=Parse.CHOICE,
        choices=tuple(Origin),
        required=True,
        help="what the part is, in words a buyer relies on",
    ),
    ColumnSpec(
        field="part_state",
        heading="part state",
        parse=Parse.CHOICE,
        choices=tuple(PartState),
        default="fitted",
        help="fitted or spoiled",
    ),
    words("removed_part_kept", "removed part kept", "where the part taken off is now"),
    *_SUPPLIED,
)

CONSUMABLES = _line(
    "consumables",
    "consumable",
    "U-",
    "Measured amounts of a product.",
    to("product", "product", "product", "ref from the sheet products", required=True),
    ColumnSpec(
        field="quantity",
        heading="amount used",
        parse=Parse.QUANTITY,
        required=True,
        help="with its unit",
        example="35 ml",
    ),
    _price("price", "what the amount in the next column costs"),
    ColumnSpec(
        field="price_per",
        heading="price is for",
        parse=Parse.QUANTITY,
        required=True,
        help="the amount that the price is for, with its unit",
        example="500 ml",
    ),
)

SUBLETS = _line(
    "sublets",
    "sublet",
    "B-",
    "Work bought from another shop.",
    _price("price", "as invoiced or quoted, without tax that you get back"),
    *_SUPPLIED,
)

CHARGES = _line(
    "charges",
    "charge",
    "X-",
    "Amounts with no hours, part or stock behind them: freight, duty, storage, a fee.",
    _price("amount", "without tax that you get back"),
    *_SUPPLIED,
)

LINE_SHEETS = (LABOUR, PARTS, CONSUMABLES, SUBLETS, CHARGES)
