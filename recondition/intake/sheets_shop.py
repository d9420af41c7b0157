"""Sheets of the shop itself: settings, people, rates, suppliers, products."""

from __future__ import annotations

from recondition.book.settings import SETTINGS
from recondition.intake.spec import ROW_REF, ColumnSpec, Parse, Sheet, own_ref, to, words

CONTACT = words("contact", "contact", "address, telephone or mail; private and erasable")

SETTINGS_SHEET = Sheet(
    name="settings",
    kind="setting",
    explanation="What the book is told once: its currency, how dates and numbers are typed. "
    "These hold for the other sheets of this workbook too.",
    columns=(
        ColumnSpec(
            field="ref",
            heading="setting",
            parse=Parse.CHOICE,
            choices=tuple(SETTINGS),
            required=True,
            aliases=("ref",),
            help="which setting: " + "; ".join(f"{n} = {w}" for n, w in SETTINGS.items()),
            example="date order",
        ),
        ColumnSpec(
            field="value",
            heading="value",
            parse=Parse.CODE,
            required=True,
            help="what it is to be",
            example="day first",
        ),
    ),
)

PEOPLE = Sheet(
    name="people",
    kind="person",
    explanation="Everybody who works on, decides about or owns a vehicle.",
    columns=(
        own_ref("initials", "initials or a short name, once here", example="HK", named=True),
        words("name", "name", "full name; private and erasable", required=True),
        ColumnSpec(
            field="role",
            heading="role",
            parse=Parse.CODE,
            required=True,
            help="what the person does here, in a word a buyer may read",
            example="preparer",
        ),
        CONTACT,
    ),
)

_RATE_BASIS = (
    ColumnSpec(
        field="basis.wage",
        heading="wage",
        parse=Parse.MONEY,
        unit="per paid hour",
        at_least=0,
        help="to work the cost rate out: wage per paid hour",
    ),
    ColumnSpec(
        field="basis.on_cost",
        heading="on-cost %",
        parse=Parse.PERCENT,
        help="employer's taxes, holiday, sickness, training, in percent of the wage",
        example="22",
    ),
    ColumnSpec(
        field="basis.paid_hours", heading="paid hours", parse=Parse.NUMBER,
        help="hours paid for in a year", example="1760",
    ),
    ColumnSpec(
        field="basis.productive_hours", heading="productive hours", parse=Parse.NUMBER,
        help="hours of those that are worked on vehicles", example="1250",
    ),
    ColumnSpec(
        field="basis.overhead_per_hour", heading="overhead per hour", parse=Parse.MONEY,
        unit="money", at_least=0,
        help="for the charge-out rate: overhead per productive hour",
    ),
    ColumnSpec(
        field="basis.profit_per_hour", heading="profit per hour", parse=Parse.MONEY,
        unit="money", at_least=0,
        help="for the charge-out rate: what is to be earned on an hour",
    ),
)  # fmt: skip

RATES = Sheet(
    name="rates",
    kind="rate",
    explanation="What an hour of a person costs the shop, and what an owner is charged for it, "
    "from a day on. A later row takes over from its day; the earlier one stays.",
    ref_prefix="R-",
    columns=(
        own_ref("ref", ROW_REF, example="R-001"),
        to("person", "person", "person", "initials from the sheet people", required=True),
        ColumnSpec(
            field="from_date",
            heading="from",
            parse=Parse.DATE,
            required=True,
            help="first day on which the rate holds",
        ),
        ColumnSpec(
            field="cost_rate",
            heading="cost rate per hour",
            parse=Parse.MONEY,
            unit="per hour",
            at_least=0,
            help="what an hour costs the shop, wages and what goes with them; empty: worked "
            "out from the columns after the next",
        ),
        ColumnSpec(
            field="charge_out_rate",
            heading="charge-out rate per hour",
            parse=Parse.MONEY,
            unit="per hour",
            at_least=0,
            help="what an owner is charged for an hour; needed for work on consigned vehicles",
        ),
        *_RATE_BASIS,
    ),
)

SUPPLIERS = Sheet(
    name="suppliers",
    kind="supplier",
    explanation="Firms that parts, products and sublet work come from.",
    ref_prefix="S-",
    columns=(
        own_ref("ref", "a short name of your own, once here", example="S-001", named=True),
        words("name", "name", "the firm's name; private", required=True),
        CONTACT,
    ),
)

_SHEET_AND_LABEL = (
    ColumnSpec(
        field="container_size", heading="container size", parse=Parse.QUANTITY,
        help="how much one full container holds", example="500 ml",
    ),
    ColumnSpec(
        field="density_g_ml", heading="density g/ml", parse=Parse.NUMBER,
        help="density or relative density from section 9 of the safety data sheet; empty where "
        "the sheet says it is not available",
        example="1.08",
    ),
    ColumnSpec(
        field="sds_date", heading="sheet dated", parse=Parse.DATE,
        help="date of that safety data sheet",
    ),
    ColumnSpec(
        field="ph", heading="pH", parse=Parse.NUMBER,
        help="pH from section 9, or the lower end of a range", example="12.5",
    ),
    ColumnSpec(
        field="ph_to", heading="pH to", parse=Parse.NUMBER, help="upper end of a range of pH",
    ),
    ColumnSpec(
        field="shelf_life_open", heading="shelf life open", parse=Parse.QUANTITY,
        help="how long it keeps once opened", example="30 days",
    ),
    ColumnSpec(
        field="hazards", heading="hazard statements", parse=Parse.CODE,
        help="as printed in section 2 of the safety data sheet", example="H314; H290",
    ),
    ColumnSpec(
        field="dilution_label", heading="dilution on the label", parse=Parse.CODE,
        help="as printed", example="1:10",
    ),
    ColumnSpec(
        field="product_parts", heading="parts of product", parse=Parse.NUMBER,
        help="how the label is read: parts of product; needed where the text has two readings",
        example="1",
    ),
    ColumnSpec(
        field="water_parts", heading="parts of water", parse=Parse.NUMBER,
        help="and parts of water", example="10",
    ),
    ColumnSpec(
        field="expected_uses", heading="expected uses", parse=Parse.WHOLE,
        help="for a pad or cloth used many times: uses of one piece; its stock unit is then 'use'",
        example="8",
    ),
    ColumnSpec(
        field="reorder_at", heading="reorder at", parse=Parse.QUANTITY,
        help="an order is due when this much or less is on hand", example="250 ml",
    ),
)  # fmt: skip

PRODUCTS = Sheet(
    name="products",
    kind="product",
    explanation="What the work uses up by measure: compounds, cleaners, discs, paint.",
    ref_prefix="M-",
    columns=(
        own_ref("ref", "a short name of your own, once here", example="M-001", named=True),
        ColumnSpec(
            field="name",
            heading="name",
            parse=Parse.CODE,
            required=True,
            help="as on the container; for the shop only",
        ),
        ColumnSpec(
            field="material_type",
            heading="material type (a buyer may read)",
            parse=Parse.CODE,
            required=True,
            aliases=("material type",),
            help="the generic word for it",
            example="fine polish",
        ),
        ColumnSpec(
            field="unit",
            heading="stock unit",
            parse=Parse.UNIT,
            required=True,
            aliases=("unit",),
            help="unit that stock is counted in",
            example="ml",
        ),
        to("supplier", "supplier", "supplier", "ref from the sheet suppliers"),
        *_SHEET_AND_LABEL,
    ),
)

SHOP_SHEETS = (SETTINGS_SHEET, PEOPLE, RATES, SUPPLIERS, PRODUCTS)
