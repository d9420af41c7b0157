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
            required=True,
            at_least=0,
            help="what an hour costs the shop, wages and what goes with them",
        ),
        ColumnSpec(
            field="charge_out_rate",
            heading="charge-out rate per hour",
            parse=Parse.MONEY,
            unit="per hour",
            at_least=0,
            help="what an owner is charged for an hour; needed for work on consigned vehicles",
        ),
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
    ),
)

SHOP_SHEETS = (SETTINGS_SHEET, PEOPLE, RATES, SUPPLIERS, PRODUCTS)
