"""The tables of a book, as SQLAlchemy Core. The schema itself is made by Alembic only.

Every row of a posted table belongs to one record of the chain and is a projection of its
canonical text: flat columns named after the entry's fields, money as integer minor units of
the home currency, every other number, date and time as exact text. Posted tables take
inserts only; triggers hold that (see ``triggers``).
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)
from sqlalchemy.schema import SchemaItem

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _to_record() -> ForeignKey:
    """Point at a record; held at commit, since rows of one import may name one another."""
    return ForeignKey("record.id", deferrable=True, initially="DEFERRED")


def _text(name: str, comment: str, *, required: bool = False) -> Column[str]:
    """Declare a text column."""
    return Column(name, Text, nullable=not required, comment=comment)


def _flag(name: str, comment: str) -> Column[bool]:
    """Declare a true/false column."""
    return Column(name, Boolean, comment=comment)


def _count(name: str, comment: str) -> Column[int]:
    """Declare a whole-number column."""
    return Column(name, Integer, comment=comment)


def _minor(name: str, comment: str) -> Column[int]:
    """Declare a money column in minor units of the home currency."""
    return Column(f"{name}_minor", BigInteger, comment=f"{comment}, minor units")


def _three_minor(name: str, comment: str) -> list[Column[int]]:
    """Declare low, likely and high money columns."""
    return [_minor(f"{name}_{point}", f"{comment}, {point}") for point in ("low", "likely", "high")]


def _three_text(name: str, comment: str) -> list[Column[str]]:
    """Declare low, likely and high exact-number columns."""
    return [_text(f"{name}_{point}", f"{comment}, {point}") for point in ("low", "likely", "high")]


def _refers(name: str, comment: str) -> Column[str]:
    """Declare a column that names another entity by the id of its first record."""
    return Column(name, _to_record(), nullable=True, index=True, comment=comment)


def _posted(name: str, *columns: SchemaItem) -> Table:
    """Declare a posted table: one row a record."""
    key: Column[str] = Column(
        "record_id", _to_record(), primary_key=True, comment="the chained record"
    )
    return Table(name, METADATA, key, *columns)


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
    Column("id", _to_record(), primary_key=True, comment="first record"),
    Column("kind", Text, nullable=False, comment="kind of record"),
    Column("ref", Text, nullable=False, comment="the user's own name for it"),
    Column("subject", Text, nullable=False, index=True, comment="chain"),
    Column("current", _to_record(), nullable=False, comment="newest version"),
    UniqueConstraint("kind", "ref"),
)

free_text = Table(
    "free_text",
    METADATA,
    Column("record_id", _to_record(), primary_key=True, comment="chained record"),
    Column("field", Text, primary_key=True, comment="field of the entry, or ref"),
    Column("salt", LargeBinary, nullable=False, comment="32 random bytes"),
    Column("content", Text, nullable=False, comment="the text"),
)

relation = Table(
    "relation",
    METADATA,
    Column("record_id", _to_record(), primary_key=True, comment="from"),
    Column("field", Text, primary_key=True, comment="field of the entry"),
    Column("position", Integer, primary_key=True, comment="0, 1, 2 in the field's order"),
    Column("target", _to_record(), nullable=False, index=True, comment="to"),
)

erasure = _posted(
    "erasure",
    _refers("erased", "record whose text or file was erased"),
    _text("field", "which text, or file", required=True),
    _text("ground", "on what ground", required=True),
)

setting = _posted("setting", _text("value", "the setting's value", required=True))

person = _posted("person", _text("role", "what the person does here", required=True))

rate = _posted(
    "rate",
    _refers("person", "whose rate"),
    _text("from_date", "first day it holds", required=True),
    _minor("cost_rate", "cost to the shop per hour"),
    _minor("charge_out_rate", "charged to an owner per hour"),
)

supplier = _posted("supplier")

product = _posted(
    "product",
    _text("name", "name on the container", required=True),
    _text("material_type", "generic word a buyer may see", required=True),
    _text("unit", "unit that stock is counted in", required=True),
    _refers("supplier", "where it comes from"),
)

vehicle = _posted(
    "vehicle",
    _text("designation", "year, make and model as on the documents", required=True),
    _text("holding", "own stock or consigned", required=True),
    _refers("owner", "owner of a consigned vehicle"),
    _text("body_style", "body style"),
    _count("model_year", "model year"),
    _text("colour", "colour"),
    _text("chassis_stamped", "chassis number exactly as stamped"),
    _text("chassis_documents", "chassis number as on the documents"),
    _text("engine_number", "engine number as stamped"),
    _text("odometer_shown", "digits shown, leading zeros kept"),
    _text("odometer_unit", "km, miles or unknown"),
    _count("odometer_wheels", "number of digit wheels"),
    _text("true_distance", "known, not known or believed"),
    _flag("imported", "came from another country"),
    _text("arrived_on", "day of arrival"),
)

panel = _posted(
    "panel",
    _refers("vehicle", "of which vehicle"),
    _text("panel", "which panel", required=True),
    _text("substrate", "what it is made of"),
    _text("finish", "finish system"),
    _text("originality", "what is believed of the finish"),
    _flag("no_touch", "must not be worked on"),
)

finding = _posted(
    "finding",
    _refers("vehicle", "of which vehicle"),
    _text("area", "area", required=True),
    _text("panel", "panel", required=True),
    _text("defect", "what is wrong", required=True),
    _text("found_on", "day found", required=True),
    _text("material", "material"),
    _count("severity", "0 to 4, none where not inspected"),
    _text("extent_number", "how much of it"),
    _text("extent_unit", "unit of the extent"),
    _text("extent_kind", "what the extent counts"),
    _text("lamp", "light it was seen in"),
    _text("stage", "arrival, during work or final check"),
    _refers("found_by", "who found it"),
)

outcome = _posted(
    "outcome",
    _refers("vehicle", "of which vehicle"),
    _refers("finding", "of which finding"),
    _text("ended", "how it ended", required=True),
    _text("ended_on", "when", required=True),
    _count("severity_after", "0 to 4 afterwards"),
    _refers("decided_by", "who decided"),
)

candidate = _posted(
    "candidate",
    _refers("vehicle", "of which vehicle"),
    *_three_text("hours", "hands-on hours"),
    *_three_minor("cash", "cash cost"),
    *_three_minor("uplift", "uplift in money"),
    *_three_text("uplift_percent", "uplift in percent of the as-is price"),
    _text("uplift_basis", "hammer or all-in"),
    _text("panels", "panels touched, canonical list"),
    _text("p_success", "chance of success, 0 to 1"),
    _minor("fail_cash", "further cash when it fails"),
    _minor("fail_uplift", "uplift left when it fails"),
    _text("fail_uplift_percent", "the same in percent"),
    _text("extra_days", "days by which it delays the sale"),
    _flag("after_all", "starts after all other work"),
    _text("cure_hours", "clock hours of cure after it"),
    _flag("cure_keeps_bay", "cure occupies the bay"),
    _text("delivery_hours", "clock hours of delivery before it"),
    _flag("irreversible", "cannot be undone"),
    _flag("consent_given", "consent to irreversible work is on record"),
    _flag("no_touch", "must not be done"),
    _text("state", "open, started, done or left"),
    _refers("estimated_by", "who estimated"),
    _text("estimated_on", "when"),
)

interaction = _posted(
    "interaction",
    _refers("vehicle", "of which vehicle"),
    _minor("delta_uplift", "uplift beyond the parts"),
)

terms = _posted(
    "terms",
    _refers("vehicle", "of which vehicle"),
    _text("basis", "hammer or all-in", required=True),
    *_three_minor("as_is", "price as it stands"),
    _minor("labour_cost_rate", "cost per hour in the plan"),
    _text("commission", "seller's commission by slices, canonical list"),
    _text("premium", "buyer's premium by slices, canonical list"),
    _minor("fees", "fixed sale fees"),
    _minor("charge_out_rate", "charge-out per hour in the plan"),
    _text("sells", "fixed day or when ready"),
    _text("sale_day", "day of the sale"),
    _text("cut_off", "real deadline, photographs or catalogue"),
    _minor("holding_per_day", "holding cost per day"),
    _minor("cash_limit", "cash that may be spent"),
    _text("hours_limit", "hands-on hours that may be spent"),
    _minor("owner_limit", "what the owner allows to be spent"),
)

document = _posted(
    "document",
    _refers("vehicle", "of which vehicle"),
    _text("kind", "what it is", required=True),
    _text("visibility", "evidence, listing or both"),
    _refers("finding", "of which finding"),
    _text("panel", "of which panel"),
    _text("taken_at", "ISO 8601 with zone"),
)

stored_file = Table(
    "stored_file",
    METADATA,
    Column("record_id", _to_record(), primary_key=True, comment="document"),
    Column("salt", LargeBinary, nullable=False, comment="32 random bytes"),
    Column("sha256", Text, nullable=False, index=True, comment="hash it lies on disk by"),
    Column("size_bytes", BigInteger, nullable=False, comment="size"),
    Column("media_type", Text, nullable=False, comment="by its content, not its name"),
)

line = _posted(
    "line",
    _refers("vehicle", "of which vehicle, none for shop overhead"),
    _text("kind", "kind of line item", required=True),
    _text("work_date", "when it happened", required=True),
    _text("tax_point", "date that decides the tax period"),
    _text("period", "posting period YYYY-MM", required=True),
    Column("cost_minor", BigInteger, nullable=False, comment="cost to the shop, minor units"),
    _minor("billed", "billed to an owner"),
    _minor("rate", "cost per hour used"),
    _minor("price", "price entered"),
    _text("price_per_number", "for how much of the product"),
    _text("price_per_unit", "unit of that"),
    _text("quantity_number", "hours, pieces or amount"),
    _text("quantity_unit", "unit of the quantity"),
    _text("purpose", "what the cost is for", required=True),
    _text("standing", "measured, counted, invoiced, estimated or assumed", required=True),
    _text("unlinked", "why it links to no finding"),
    _text("panel", "panel"),
    _text("operation", "operation"),
    _refers("candidate", "candidate work it carries out"),
    _refers("person", "who worked"),
    _refers("supplier", "who supplied"),
    _refers("product", "what was used"),
    _text("origin", "origin of a part"),
    _text("part_state", "fitted or spoiled"),
    _text("invoice_number", "supplier's invoice"),
    Column(
        "reverses",
        _to_record(),
        nullable=True,
        unique=True,
        comment="line it takes back; a line is reversed once",
    ),
    _refers("replaces", "line it corrects"),
)

share = Table(
    "share",
    METADATA,
    Column("record_id", _to_record(), primary_key=True, comment="line"),
    Column("finding", _to_record(), primary_key=True, index=True, comment="finding"),
    Column("weight", Text, nullable=False, comment="weight against the others"),
    Column("cost_minor", BigInteger, nullable=False, comment="its cost, minor units"),
    Column("billed_minor", BigInteger, comment="its billed amount, minor units"),
)

MUTABLE = frozenset({"chain_head", "entity", "free_text", "stored_file"})
POSTED = tuple(table.name for table in METADATA.sorted_tables if table.name not in MUTABLE)
