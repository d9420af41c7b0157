"""Sheets of the shop itself: settings, people, rates, suppliers, products."""

from __future__ import annotations

from recondition.book.settings import SETTINGS
from recondition.intake.spec import (
    ROW_REF,
    ColumnSpec,
    Parse,
    Sheet,
    amount,
    day,
    money,
    number,
    own_ref,
    text,
    to,
    words,
)

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
        text("value", "value", "what it is to be", required=True, example="day first"),
    ),
)

PEOPLE = Sheet(
    name="people",
    kind="person",
    explanation="Everybody who works on, decides about or owns a vehicle.",
    columns=(
        own_ref("initials", "initials or a short name, once here", example="HK", named=True),
        words("name", "name", "full name; private and erasable", required=True),
        text(
            "role",
            "role",
            "what the person does here, in a word a buyer may read",
            required=True,
            example="preparer",
        ),
        CONTACT,
        ColumnSpec(
            field="skills",
            heading="skills",
            parse=Parse.TEXTS,
            help="what the person can do that not everybody can",
            example="leather; paint",
        ),
        number(
            "hours_a_day",
            "hours a day",
            "hours worked on vehicles each working day; empty: plans do not count on the person",
            unit="hours",
            at_least=0,
        ),
    ),
)

_RATE_BASIS = (
    money(
        "basis.wage", "wage", "to work the cost rate out: wage per paid hour", unit="per paid hour"
    ),
    ColumnSpec(
        field="basis.on_cost",
        heading="on-cost %",
        parse=Parse.PERCENT,
        help="employer's taxes, holiday, sickness, training, in percent of the wage",
        example="22",
    ),
    number("basis.paid_hours", "paid hours", "hours paid for in a year", example="1760"),
    number(
        "basis.productive_hours",
        "productive hours",
        "hours of those that are worked on vehicles",
        example="1250",
    ),
    money(
        "basis.overhead_per_hour",
        "overhead per hour",
        "for the charge-out rate: overhead per productive hour",
    ),
    money(
        "basis.profit_per_hour",
        "profit per hour",
        "for the charge-out rate: what is to be earned on an hour",
    ),
)

RATES = Sheet(
    name="rates",
    kind="rate",
    explanation="What an hour of a person costs the shop, and what an owner is charged for it, "
    "from a day on. A later row takes over from its day; the earlier one stays.",
    ref_prefix="R-",
    columns=(
        own_ref("ref", ROW_REF, example="R-001"),
        to("person", "person", "person", "initials from the sheet people", required=True),
        day("from_date", "from", "first day on which the rate holds", required=True),
        money(
            "cost_rate",
            "cost rate per hour",
            "what an hour costs the shop, wages and what goes with them; empty: worked "
            "out from the columns after the next",
            unit="per hour",
        ),
        money(
            "charge_out_rate",
            "charge-out rate per hour",
            "what an owner is charged for an hour; needed for work on consigned vehicles",
            unit="per hour",
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
    amount(
        "container_size", "container size", "how much one full container holds", example="500 ml"
    ),
    number(
        "density_g_ml",
        "density g/ml",
        "density or relative density from section 9 of the safety data sheet; empty where "
        "the sheet says it is not available",
        example="1.08",
    ),
    day("sds_date", "sheet dated", "date of that safety data sheet"),
    number("ph", "pH", "pH from section 9, or the lower end of a range", example="12.5"),
    number("ph_to", "pH to", "upper end of a range of pH"),
    amount(
        "shelf_life_open", "shelf life open", "how long it keeps once opened", example="30 days"
    ),
    text(
        "hazards",
        "hazard statements",
        "as printed in section 2 of the safety data sheet",
        example="H314; H290",
    ),
    text("ingredients", "ingredients", "as printed in section 3 of that sheet"),
    words(
        "allowed_because",
        "allowed because",
        "why a product with hydrofluoric acid or its acid salts may be used here; it is blocked "
        "otherwise",
    ),
    text("dilution_label", "dilution on the label", "as printed", example="1:10"),
    number(
        "product_parts",
        "parts of product",
        "how the label is read: parts of product; needed where the text has two readings",
        example="1",
    ),
    number("water_parts", "parts of water", "and parts of water", example="10"),
    ColumnSpec(
        field="expected_uses",
        heading="expected uses",
        parse=Parse.WHOLE,
        help="for a pad or cloth used many times: uses of one piece; its stock unit is then 'use'",
        example="8",
    ),
    amount(
        "reorder_at",
        "reorder at",
        "an order is due when this much or less is on hand",
        example="250 ml",
    ),
)

PRODUCTS = Sheet(
    name="products",
    kind="product",
    explanation="What the work uses up by measure: compounds, cleaners, discs, paint.",
    ref_prefix="M-",
    columns=(
        own_ref("ref", "a short name of your own, once here", example="M-001", named=True),
        text("name", "name", "as on the container; for the shop only", required=True),
        text(
            "material_type",
            "material type (a buyer may read)",
            "the generic word for it",
            required=True,
            aliases=("material type",),
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
