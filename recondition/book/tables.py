"""The tables of a book, as SQLAlchemy Core. The schema itself is made by Alembic only.

Every row of a posted table belongs to one record of the chain and is a projection of its
canonical text: flat columns named after the entry's fields, money as integer minor units of
the home currency, every other number, date and time as exact text. Posted tables take
inserts only; triggers hold that (see ``triggers``).
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Column,
    Index,
    Integer,
    LargeBinary,
    Table,
    Text,
    UniqueConstraint,
)

import recondition.book.tables_bench  # their tables belong to the same schema
import recondition.book.tables_books
import recondition.book.tables_history
import recondition.book.tables_logins
import recondition.book.tables_stock
import recondition.book.tables_worth  # noqa: F401 - as above
from recondition.book.columns import (
    METADATA,
    amount,
    count,
    flag,
    foreign,
    measure,
    minor,
    posted,
    refers,
    reverses,
    rework,
    text,
    three_minor,
    three_text,
    to_record,
    window,
)
from recondition.book.tables_logins import OF_PAGES

record = Table(
    "record",
    METADATA,
    Column("id", Text, primary_key=True, comment="random id"),
    Column("subject", Text, nullable=False, comment="vehicle:<id>, product:<id> or shop"),
    Column("sequence", BigInteger, nullable=False, comment="1, 2, 3 within the subject"),
    Column("previous", Text, nullable=False, comment="hash of the record before"),
    Column("hash", Text, nullable=False, unique=True, comment="SHA-256 of canonical"),
    Column("format", Text, nullable=False, comment="version of the canonical text"),
    Column("kind", Text, nullable=False, comment="kind of record"),
    Column("entity", Text, nullable=False, comment="id of the first version"),
    Column("version", Integer, nullable=False, comment="1 for the first"),
    Column("author", Text, nullable=False, comment="person who acts"),
    Column("recorded_at", Text, nullable=False, comment="ISO 8601 with zone"),
    Column("key", Text, nullable=False, unique=True, comment="idempotency key"),
    Column("canonical", Text, nullable=False, comment="exact RFC 8785 text"),
    UniqueConstraint("subject", "sequence"),
    UniqueConstraint("entity", "version"),
)

chain_head = Table(
    "chain_head",
    METADATA,
    Column("subject", Text, primary_key=True, comment="chain"),
    Column("count", BigInteger, nullable=False, comment="records in it"),
    Column("hash", Text, nullable=False, comment="hash of the last one"),
)

entity = Table(
    "entity",
    METADATA,
    Column("id", to_record(), primary_key=True, comment="first record"),
    Column("kind", Text, nullable=False, comment="kind of record"),
    Column("ref", Text, nullable=False, comment="the user's own name for it"),
    Column("subject", Text, nullable=False, index=True, comment="chain"),
    Column("current", to_record(), nullable=False, index=True, comment="newest version"),
    UniqueConstraint("kind", "ref"),
)

free_text = Table(
    "free_text",
    METADATA,
    Column("record_id", to_record(), primary_key=True, comment="chained record"),
    Column("field", Text, primary_key=True, comment="field of the entry, or ref"),
    Column("salt", LargeBinary, nullable=False, comment="32 random bytes"),
    Column("content", Text, nullable=False, comment="the text"),
)

relation = Table(
    "relation",
    METADATA,
    Column("record_id", to_record(), primary_key=True, comment="from"),
    Column("field", Text, primary_key=True, comment="field of the entry"),
    Column("position", Integer, primary_key=True, comment="0, 1, 2 in the field's order"),
    Column("target", to_record(), nullable=False, index=True, comment="to"),
)

erasure = posted(
    "erasure",
    refers("erased", "record whose text or file was erased"),
    text("field", "which text, or file", required=True),
    text("ground", "on what ground", required=True),
)

setting = posted("setting", text("value", "the setting's value", required=True))

person = posted(
    "person",
    text("role", "what the person does here", required=True),
    text("skills", "what the person can do, canonical list"),
    text("hours_a_day", "hours worked on vehicles a working day"),
)

rate = posted(
    "rate",
    refers("person", "whose rate"),
    text("from_date", "first day it holds", required=True),
    minor("cost_rate", "cost to the shop per hour"),
    minor("charge_out_rate", "charged to an owner per hour"),
    minor("basis_wage", "wage per paid hour"),
    text("basis_on_cost", "on-costs, as a fraction of the wage"),
    text("basis_paid_hours", "paid hours"),
    text("basis_productive_hours", "productive hours of those"),
    minor("basis_overhead_per_hour", "overhead per productive hour"),
    minor("basis_profit_per_hour", "profit per hour"),
)

supplier = posted("supplier")

product = posted(
    "product",
    text("name", "name on the container", required=True),
    text("material_type", "generic word a buyer may see", required=True),
    text("unit", "unit that stock is counted in", required=True),
    refers("supplier", "where it comes from"),
    text("container_size_number", "how much one full container holds"),
    text("container_size_unit", "unit of that"),
    text("density_g_ml", "density from section 9 of the safety data sheet"),
    text("sds_date", "day of that sheet"),
    text("ph", "pH on that sheet, or its lower end"),
    text("ph_to", "upper end of the pH"),
    text("shelf_life_open_number", "how long it keeps once opened"),
    text("shelf_life_open_unit", "unit of that"),
    text("hazards", "hazard statements as printed"),
    text("dilution_label", "dilution as the label prints it"),
    text("product_parts", "parts of product"),
    text("water_parts", "parts of water"),
    count("expected_uses", "uses of one piece"),
    text("reorder_at_number", "at or below this an order is due"),
    text("reorder_at_unit", "unit of that"),
    text("ingredients", "section 3 of the sheet"),
)

vehicle = posted(
    "vehicle",
    text("designation", "year, make and model as on the documents", required=True),
    text("holding", "own stock or consigned", required=True),
    refers("owner", "owner of a consigned vehicle"),
    text("body_style", "body style"),
    count("model_year", "model year"),
    text("colour", "colour"),
    text("trim", "trim and its code"),
    text("chassis_stamped", "chassis number exactly as stamped"),
    text("chassis_documents", "chassis number as on the documents"),
    text("engine_number", "engine number as stamped"),
    text("body_number", "body number as stamped"),
    text("odometer_shown", "digits shown, leading zeros kept"),
    text("odometer_unit", "km, miles or unknown"),
    count("odometer_wheels", "number of digit wheels"),
    text("true_distance", "known, not known or believed"),
    flag("imported", "came from another country"),
    text("arrived_on", "day of arrival"),
    *amount("film_floor", "film that must stay"),
)

panel = posted(
    "panel",
    refers("vehicle", "of which vehicle"),
    text("panel", "which panel", required=True),
    text("substrate", "what it is made of"),
    text("finish", "finish system"),
    text("originality", "what is believed of the finish"),
    flag("no_touch", "must not be worked on"),
    *amount("film_floor", "film that must stay"),
)

finding = posted(
    "finding",
    refers("vehicle", "of which vehicle"),
    text("area", "area", required=True),
    text("panel", "panel", required=True),
    text("defect", "what is wrong", required=True),
    text("found_on", "day found", required=True),
    text("material", "material"),
    count("severity", "0 to 4, none where not inspected"),
    text("extent_number", "how much of it"),
    text("extent_unit", "unit of the extent"),
    text("extent_kind", "what the extent counts"),
    text("lamp", "light it was seen in"),
    text("stage", "arrival, during work or final check"),
    refers("found_by", "who found it"),
    *amount("distance", "distance of the eye"),
    text("step", "step of the work"),
    text("when", "before or after that step"),
    flag("new_since_arrival", "was not there on arrival"),
)

outcome = posted(
    "outcome",
    refers("vehicle", "of which vehicle"),
    refers("finding", "of which finding"),
    text("ended", "how it ended", required=True),
    text("ended_on", "when", required=True),
    count("severity_after", "0 to 4 afterwards"),
    refers("decided_by", "who decided"),
)

candidate = posted(
    "candidate",
    refers("vehicle", "of which vehicle"),
    *three_text("hours", "hands-on hours"),
    *three_minor("cash", "cash cost"),
    *three_minor("uplift", "uplift in money"),
    *three_text("uplift_percent", "uplift in percent of the as-is price"),
    text("uplift_basis", "hammer or all-in"),
    text("panels", "panels touched, canonical list"),
    text("p_success", "chance of success, 0 to 1"),
    minor("fail_cash", "further cash when it fails"),
    minor("fail_uplift", "uplift left when it fails"),
    text("fail_uplift_percent", "the same in percent"),
    text("extra_days", "days by which it delays the sale"),
    flag("after_all", "starts after all other work"),
    text("cure_hours", "clock hours of cure after it"),
    flag("cure_keeps_bay", "cure occupies the bay"),
    text("delivery_hours", "clock hours of delivery before it"),
    flag("irreversible", "cannot be undone"),
    flag("consent_given", "consent to irreversible work is on record"),
    flag("no_touch", "must not be done"),
    text("state", "open, started, done or left"),
    refers("estimated_by", "who estimated"),
    text("estimated_on", "when"),
    *amount("film_removal", "film it is expected to take"),
    text("products", "products it would use, canonical list"),
    text("skills", "skills it needs, canonical list"),
)

interaction = posted(
    "interaction",
    refers("vehicle", "of which vehicle"),
    minor("delta_uplift", "uplift beyond the parts"),
)

terms = posted(
    "terms",
    refers("vehicle", "of which vehicle"),
    text("basis", "hammer or all-in", required=True),
    *three_minor("as_is", "price as it stands"),
    minor("labour_cost_rate", "cost per hour in the plan"),
    text("commission", "seller's commission by slices, canonical list"),
    text("premium", "buyer's premium by slices, canonical list"),
    minor("fees", "fixed sale fees"),
    minor("charge_out_rate", "charge-out per hour in the plan"),
    text("sells", "fixed day or when ready"),
    text("sale_day", "day of the sale"),
    text("cut_off", "real deadline, photographs or catalogue"),
    minor("holding_per_day", "holding cost per day"),
    minor("cash_limit", "cash that may be spent"),
    text("hours_limit", "hands-on hours that may be spent"),
    minor("owner_limit", "what the owner allows to be spent"),
    text("work_from", "day from which work can be done"),
    text("cut_off_time", "time of day on the cut-off"),
    minor("loss_limit", "worst outcome to be borne"),
    minor("ask_above", "cost of one piece of work to be asked about"),
    text("next_sale_days", "days until the next sale after this"),
    minor("next_sale_fee", "what the next sale costs once more"),
)

document = posted(
    "document",
    refers("vehicle", "of which vehicle"),
    text("kind", "what it is", required=True),
    text("visibility", "evidence, listing or both"),
    refers("finding", "of which finding"),
    text("panel", "of which panel"),
    text("taken_at", "ISO 8601 with zone"),
    *amount("camera_ahead", "by how much the camera's clock was ahead"),
    refers("before", "picture of the same place before"),
)

stored_file = Table(
    "stored_file",
    METADATA,
    Column("record_id", to_record(), primary_key=True, comment="document"),
    Column("salt", LargeBinary, nullable=False, comment="32 random bytes"),
    Column("sha256", Text, nullable=False, index=True, comment="hash it lies on disk by"),
    Column("size_bytes", BigInteger, nullable=False, comment="size"),
    Column("media_type", Text, nullable=False, comment="by its content, not its name"),
)

line = posted(
    "line",
    refers("vehicle", "of which vehicle, none for shop overhead"),
    text("kind", "kind of line item", required=True),
    text("work_date", "when it happened", required=True),
    text("tax_point", "date that decides the tax period"),
    text("period", "posting period YYYY-MM", required=True),
    Column("cost_minor", BigInteger, nullable=False, comment="cost to the shop, minor units"),
    minor("billed", "billed to an owner"),
    minor("rate", "cost per hour used"),
    minor("price", "price entered"),
    text("price_per_number", "for how much of the product"),
    text("price_per_unit", "unit of that"),
    text("quantity_number", "hours, pieces or amount"),
    text("quantity_unit", "unit of the quantity"),
    text("purpose", "what the cost is for", required=True),
    text("standing", "measured, counted, invoiced, estimated or assumed", required=True),
    text("unlinked", "why it links to no finding"),
    text("panel", "panel"),
    text("operation", "operation"),
    refers("candidate", "candidate work it carries out"),
    refers("person", "who worked"),
    refers("supplier", "who supplied"),
    refers("product", "what was used"),
    text("origin", "origin of a part"),
    text("part_state", "fitted or spoiled"),
    text("invoice_number", "supplier's invoice"),
    reverses("line it takes back; a line is reversed once"),
    refers("replaces", "line it corrects"),
    *rework(),
    text("loss", "normal or abnormal"),
    refers("order", "order it comes from"),
    *window(),
    *amount("bay", "how long the bay was taken"),
    *amount("elapsed", "time by the clock"),
    *amount("billed_time", "time an owner pays for"),
    text("taken", "hours by the clock or afterwards"),
    text("started_at", "ISO 8601 with zone"),
    text("ended_at", "ISO 8601 with zone"),
    refers("clock", "clock the hours come from"),
    text("use", "used or wasted"),
    *amount("counted", "what a count found"),
    *measure(),
    refers("receipt", "batch it came from"),
    refers("container", "container it came from"),
    refers("mixed", "mixed batch it came from"),
    *amount("film_removal", "film the work is expected to take"),
    text("tax_code", "tax code"),
    minor("tax", "tax on its document"),
    minor("tax_recovered", "tax that comes back"),
    *foreign(),
    text("settled", "on account, bank or opening"),
    text("item", "what a charge was paid for"),
    Index(None, "person", "work_date"),
)

share = Table(
    "share",
    METADATA,
    Column("record_id", to_record(), primary_key=True, comment="line"),
    Column("finding", to_record(), primary_key=True, index=True, comment="finding"),
    Column("weight", Text, nullable=False, comment="weight against the others"),
    Column("cost_minor", BigInteger, nullable=False, comment="its cost, minor units"),
    Column("billed_minor", BigInteger, comment="its billed amount, minor units"),
)

MUTABLE = frozenset({"chain_head", "entity", "free_text", "stored_file"})
POSTED = tuple(
    table.name for table in METADATA.sorted_tables if table.name not in MUTABLE | OF_PAGES
)
