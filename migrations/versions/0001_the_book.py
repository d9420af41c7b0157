"""The book: chain, texts, vehicles, findings, candidate work, terms and lines.

Posted tables get their guards here and are never rebuilt by a later migration.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from recondition.book.triggers import erasable_guards, head_guards, posted_guards

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_ERASABLE = ("free_text",)
_MUTABLE = ("chain_head", "entity")


def upgrade() -> None:  # noqa: PLR0915 - one statement a table
    """Make the tables, then the guards."""
    tables: dict[str, sa.Table] = {}

    tables["chain_head"] = op.create_table(
        "chain_head",
        sa.Column("subject", sa.Text(), nullable=False, comment="chain"),
        sa.Column("count", sa.BigInteger(), nullable=False, comment="records in it"),
        sa.Column("hash", sa.Text(), nullable=False, comment="hash of the last one"),
        sa.PrimaryKeyConstraint("subject", name=op.f("pk_chain_head")),
    )
    tables["record"] = op.create_table(
        "record",
        sa.Column("id", sa.Text(), nullable=False, comment="random id"),
        sa.Column(
            "subject", sa.Text(), nullable=False, comment="vehicle:<id>, product:<id> or shop"
        ),
        sa.Column(
            "sequence", sa.BigInteger(), nullable=False, comment="1, 2, 3 within the subject"
        ),
        sa.Column("previous", sa.Text(), nullable=False, comment="hash of the record before"),
        sa.Column("hash", sa.Text(), nullable=False, comment="SHA-256 of canonical"),
        sa.Column("format", sa.Text(), nullable=False, comment="version of the canonical text"),
        sa.Column("kind", sa.Text(), nullable=False, comment="kind of record"),
        sa.Column("entity", sa.Text(), nullable=False, comment="id of the first version"),
        sa.Column("version", sa.Integer(), nullable=False, comment="1 for the first"),
        sa.Column("author", sa.Text(), nullable=False, comment="person who acts"),
        sa.Column("recorded_at", sa.Text(), nullable=False, comment="ISO 8601 with zone"),
        sa.Column("key", sa.Text(), nullable=False, comment="idempotency key"),
        sa.Column("canonical", sa.Text(), nullable=False, comment="exact RFC 8785 text"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_record")),
        sa.UniqueConstraint("entity", "version", name=op.f("uq_record_entity_version")),
        sa.UniqueConstraint("hash", name=op.f("uq_record_hash")),
        sa.UniqueConstraint("key", name=op.f("uq_record_key")),
        sa.UniqueConstraint("subject", "sequence", name=op.f("uq_record_subject_sequence")),
    )
    tables["candidate"] = op.create_table(
        "candidate",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("hours_low", sa.Text(), nullable=True, comment="hands-on hours, low"),
        sa.Column("hours_likely", sa.Text(), nullable=True, comment="hands-on hours, likely"),
        sa.Column("hours_high", sa.Text(), nullable=True, comment="hands-on hours, high"),
        sa.Column(
            "cash_low_minor", sa.BigInteger(), nullable=True, comment="cash cost, low, minor units"
        ),
        sa.Column(
            "cash_likely_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cash cost, likely, minor units",
        ),
        sa.Column(
            "cash_high_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cash cost, high, minor units",
        ),
        sa.Column(
            "uplift_low_minor",
            sa.BigInteger(),
            nullable=True,
            comment="uplift in money, low, minor units",
        ),
        sa.Column(
            "uplift_likely_minor",
            sa.BigInteger(),
            nullable=True,
            comment="uplift in money, likely, minor units",
        ),
        sa.Column(
            "uplift_high_minor",
            sa.BigInteger(),
            nullable=True,
            comment="uplift in money, high, minor units",
        ),
        sa.Column(
            "uplift_percent_low",
            sa.Text(),
            nullable=True,
            comment="uplift in percent of the as-is price, low",
        ),
        sa.Column(
            "uplift_percent_likely",
            sa.Text(),
            nullable=True,
            comment="uplift in percent of the as-is price, likely",
        ),
        sa.Column(
            "uplift_percent_high",
            sa.Text(),
            nullable=True,
            comment="uplift in percent of the as-is price, high",
        ),
        sa.Column("uplift_basis", sa.Text(), nullable=True, comment="hammer or all-in"),
        sa.Column("panels", sa.Text(), nullable=True, comment="panels touched, canonical list"),
        sa.Column("p_success", sa.Text(), nullable=True, comment="chance of success, 0 to 1"),
        sa.Column(
            "fail_cash_minor",
            sa.BigInteger(),
            nullable=True,
            comment="further cash when it fails, minor units",
        ),
        sa.Column(
            "fail_uplift_minor",
            sa.BigInteger(),
            nullable=True,
            comment="uplift left when it fails, minor units",
        ),
        sa.Column("fail_uplift_percent", sa.Text(), nullable=True, comment="the same in percent"),
        sa.Column(
            "extra_days", sa.Text(), nullable=True, comment="days by which it delays the sale"
        ),
        sa.Column("after_all", sa.Boolean(), nullable=True, comment="starts after all other work"),
        sa.Column("cure_hours", sa.Text(), nullable=True, comment="clock hours of cure after it"),
        sa.Column("cure_keeps_bay", sa.Boolean(), nullable=True, comment="cure occupies the bay"),
        sa.Column(
            "delivery_hours", sa.Text(), nullable=True, comment="clock hours of delivery before it"
        ),
        sa.Column("irreversible", sa.Boolean(), nullable=True, comment="cannot be undone"),
        sa.Column(
            "consent_given",
            sa.Boolean(),
            nullable=True,
            comment="consent to irreversible work is on record",
        ),
        sa.Column("no_touch", sa.Boolean(), nullable=True, comment="must not be done"),
        sa.Column("state", sa.Text(), nullable=True, comment="open, started, done or left"),
        sa.Column("estimated_by", sa.Text(), nullable=True, comment="who estimated"),
        sa.Column("estimated_on", sa.Text(), nullable=True, comment="when"),
        sa.ForeignKeyConstraint(
            ["estimated_by"],
            ["record.id"],
            name=op.f("fk_candidate_estimated_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_candidate_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_candidate_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_candidate")),
    )
    op.create_index(op.f("ix_candidate_estimated_by"), "candidate", ["estimated_by"], unique=False)
    op.create_index(op.f("ix_candidate_vehicle"), "candidate", ["vehicle"], unique=False)
    tables["entity"] = op.create_table(
        "entity",
        sa.Column("id", sa.Text(), nullable=False, comment="first record"),
        sa.Column("kind", sa.Text(), nullable=False, comment="kind of record"),
        sa.Column("ref", sa.Text(), nullable=False, comment="the user's own name for it"),
        sa.Column("subject", sa.Text(), nullable=False, comment="chain"),
        sa.Column("current", sa.Text(), nullable=False, comment="newest version"),
        sa.ForeignKeyConstraint(
            ["current"],
            ["record.id"],
            name=op.f("fk_entity_current"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["id"], ["record.id"], name=op.f("fk_entity_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_entity")),
        sa.UniqueConstraint("kind", "ref", name=op.f("uq_entity_kind_ref")),
    )
    op.create_index(op.f("ix_entity_subject"), "entity", ["subject"], unique=False)
    tables["erasure"] = op.create_table(
        "erasure",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column(
            "erased", sa.Text(), nullable=True, comment="record whose text or file was erased"
        ),
        sa.Column("field", sa.Text(), nullable=False, comment="which text, or file"),
        sa.Column("ground", sa.Text(), nullable=False, comment="on what ground"),
        sa.ForeignKeyConstraint(
            ["erased"],
            ["record.id"],
            name=op.f("fk_erasure_erased"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_erasure_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_erasure")),
    )
    op.create_index(op.f("ix_erasure_erased"), "erasure", ["erased"], unique=False)
    tables["finding"] = op.create_table(
        "finding",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("area", sa.Text(), nullable=False, comment="area"),
        sa.Column("panel", sa.Text(), nullable=False, comment="panel"),
        sa.Column("defect", sa.Text(), nullable=False, comment="what is wrong"),
        sa.Column("found_on", sa.Text(), nullable=False, comment="day found"),
        sa.Column("material", sa.Text(), nullable=True, comment="material"),
        sa.Column(
            "severity", sa.Integer(), nullable=True, comment="0 to 4, none where not inspected"
        ),
        sa.Column("extent_number", sa.Text(), nullable=True, comment="how much of it"),
        sa.Column("extent_unit", sa.Text(), nullable=True, comment="unit of the extent"),
        sa.Column("extent_kind", sa.Text(), nullable=True, comment="what the extent counts"),
        sa.Column("lamp", sa.Text(), nullable=True, comment="light it was seen in"),
        sa.Column("stage", sa.Text(), nullable=True, comment="arrival, during work or final check"),
        sa.Column("found_by", sa.Text(), nullable=True, comment="who found it"),
        sa.ForeignKeyConstraint(
            ["found_by"],
            ["record.id"],
            name=op.f("fk_finding_found_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_finding_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_finding_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_finding")),
    )
    op.create_index(op.f("ix_finding_found_by"), "finding", ["found_by"], unique=False)
    op.create_index(op.f("ix_finding_vehicle"), "finding", ["vehicle"], unique=False)
    tables["free_text"] = op.create_table(
        "free_text",
        sa.Column("record_id", sa.Text(), nullable=False, comment="chained record"),
        sa.Column("field", sa.Text(), nullable=False, comment="field of the entry, or ref"),
        sa.Column("salt", sa.LargeBinary(), nullable=False, comment="32 random bytes"),
        sa.Column("content", sa.Text(), nullable=False, comment="the text"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_free_text_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", "field", name=op.f("pk_free_text")),
    )
    tables["interaction"] = op.create_table(
        "interaction",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column(
            "delta_uplift_minor",
            sa.BigInteger(),
            nullable=True,
            comment="uplift beyond the parts, minor units",
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_interaction_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_interaction_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_interaction")),
    )
    op.create_index(op.f("ix_interaction_vehicle"), "interaction", ["vehicle"], unique=False)
    tables["line"] = op.create_table(
        "line",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column(
            "vehicle", sa.Text(), nullable=True, comment="of which vehicle, none for shop overhead"
        ),
        sa.Column("kind", sa.Text(), nullable=False, comment="kind of line item"),
        sa.Column("work_date", sa.Text(), nullable=False, comment="when it happened"),
        sa.Column(
            "tax_point", sa.Text(), nullable=True, comment="date that decides the tax period"
        ),
        sa.Column("period", sa.Text(), nullable=False, comment="posting period YYYY-MM"),
        sa.Column(
            "cost_minor", sa.BigInteger(), nullable=False, comment="cost to the shop, minor units"
        ),
        sa.Column(
            "billed_minor",
            sa.BigInteger(),
            nullable=True,
            comment="billed to an owner, minor units",
        ),
        sa.Column(
            "rate_minor", sa.BigInteger(), nullable=True, comment="cost per hour used, minor units"
        ),
        sa.Column(
            "price_minor", sa.BigInteger(), nullable=True, comment="price entered, minor units"
        ),
        sa.Column(
            "price_per_number", sa.Text(), nullable=True, comment="for how much of the product"
        ),
        sa.Column("price_per_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column("quantity_number", sa.Text(), nullable=True, comment="hours, pieces or amount"),
        sa.Column("quantity_unit", sa.Text(), nullable=True, comment="unit of the quantity"),
        sa.Column("purpose", sa.Text(), nullable=False, comment="what the cost is for"),
        sa.Column(
            "standing",
            sa.Text(),
            nullable=False,
            comment="measured, counted, invoiced, estimated or assumed",
        ),
        sa.Column("unlinked", sa.Text(), nullable=True, comment="why it links to no finding"),
        sa.Column("panel", sa.Text(), nullable=True, comment="panel"),
        sa.Column("operation", sa.Text(), nullable=True, comment="operation"),
        sa.Column("candidate", sa.Text(), nullable=True, comment="candidate work it carries out"),
        sa.Column("person", sa.Text(), nullable=True, comment="who worked"),
        sa.Column("supplier", sa.Text(), nullable=True, comment="who supplied"),
        sa.Column("product", sa.Text(), nullable=True, comment="what was used"),
        sa.Column("origin", sa.Text(), nullable=True, comment="origin of a part"),
        sa.Column("part_state", sa.Text(), nullable=True, comment="fitted or spoiled"),
        sa.Column("invoice_number", sa.Text(), nullable=True, comment="supplier's invoice"),
        sa.Column(
            "reverses",
            sa.Text(),
            nullable=True,
            comment="line it takes back; a line is reversed once",
        ),
        sa.Column("replaces", sa.Text(), nullable=True, comment="line it corrects"),
        sa.ForeignKeyConstraint(
            ["candidate"],
            ["record.id"],
            name=op.f("fk_line_candidate"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["person"],
            ["record.id"],
            name=op.f("fk_line_person"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["product"],
            ["record.id"],
            name=op.f("fk_line_product"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_line_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["replaces"],
            ["record.id"],
            name=op.f("fk_line_replaces"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["reverses"],
            ["record.id"],
            name=op.f("fk_line_reverses"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["supplier"],
            ["record.id"],
            name=op.f("fk_line_supplier"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_line_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_line")),
        sa.UniqueConstraint("reverses", name=op.f("uq_line_reverses")),
    )
    op.create_index(op.f("ix_line_candidate"), "line", ["candidate"], unique=False)
    op.create_index(op.f("ix_line_person"), "line", ["person"], unique=False)
    op.create_index(op.f("ix_line_product"), "line", ["product"], unique=False)
    op.create_index(op.f("ix_line_replaces"), "line", ["replaces"], unique=False)
    op.create_index(op.f("ix_line_supplier"), "line", ["supplier"], unique=False)
    op.create_index(op.f("ix_line_vehicle"), "line", ["vehicle"], unique=False)
    tables["outcome"] = op.create_table(
        "outcome",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("finding", sa.Text(), nullable=True, comment="of which finding"),
        sa.Column("ended", sa.Text(), nullable=False, comment="how it ended"),
        sa.Column("ended_on", sa.Text(), nullable=False, comment="when"),
        sa.Column("severity_after", sa.Integer(), nullable=True, comment="0 to 4 afterwards"),
        sa.Column("decided_by", sa.Text(), nullable=True, comment="who decided"),
        sa.ForeignKeyConstraint(
            ["decided_by"],
            ["record.id"],
            name=op.f("fk_outcome_decided_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["finding"],
            ["record.id"],
            name=op.f("fk_outcome_finding"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_outcome_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_outcome_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_outcome")),
    )
    op.create_index(op.f("ix_outcome_decided_by"), "outcome", ["decided_by"], unique=False)
    op.create_index(op.f("ix_outcome_finding"), "outcome", ["finding"], unique=False)
    op.create_index(op.f("ix_outcome_vehicle"), "outcome", ["vehicle"], unique=False)
    tables["panel"] = op.create_table(
        "panel",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("panel", sa.Text(), nullable=False, comment="which panel"),
        sa.Column("substrate", sa.Text(), nullable=True, comment="what it is made of"),
        sa.Column("finish", sa.Text(), nullable=True, comment="finish system"),
        sa.Column(
            "originality", sa.Text(), nullable=True, comment="what is believed of the finish"
        ),
        sa.Column("no_touch", sa.Boolean(), nullable=True, comment="must not be worked on"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_panel_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_panel_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_panel")),
    )
    op.create_index(op.f("ix_panel_vehicle"), "panel", ["vehicle"], unique=False)
    tables["person"] = op.create_table(
        "person",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("role", sa.Text(), nullable=False, comment="what the person does here"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_person_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_person")),
    )
    tables["product"] = op.create_table(
        "product",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("name", sa.Text(), nullable=False, comment="name on the container"),
        sa.Column(
            "material_type", sa.Text(), nullable=False, comment="generic word a buyer may see"
        ),
        sa.Column("unit", sa.Text(), nullable=False, comment="unit that stock is counted in"),
        sa.Column("supplier", sa.Text(), nullable=True, comment="where it comes from"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_product_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["supplier"],
            ["record.id"],
            name=op.f("fk_product_supplier"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_product")),
    )
    op.create_index(op.f("ix_product_supplier"), "product", ["supplier"], unique=False)
    tables["rate"] = op.create_table(
        "rate",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("person", sa.Text(), nullable=True, comment="whose rate"),
        sa.Column("from_date", sa.Text(), nullable=False, comment="first day it holds"),
        sa.Column(
            "cost_rate_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cost to the shop per hour, minor units",
        ),
        sa.Column(
            "charge_out_rate_minor",
            sa.BigInteger(),
            nullable=True,
            comment="charged to an owner per hour, minor units",
        ),
        sa.ForeignKeyConstraint(
            ["person"],
            ["record.id"],
            name=op.f("fk_rate_person"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_rate_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_rate")),
    )
    op.create_index(op.f("ix_rate_person"), "rate", ["person"], unique=False)
    tables["relation"] = op.create_table(
        "relation",
        sa.Column("record_id", sa.Text(), nullable=False, comment="from"),
        sa.Column("field", sa.Text(), nullable=False, comment="field of the entry"),
        sa.Column("position", sa.Integer(), nullable=False, comment="0, 1, 2 in the field's order"),
        sa.Column("target", sa.Text(), nullable=False, comment="to"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_relation_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["target"],
            ["record.id"],
            name=op.f("fk_relation_target"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", "field", "position", name=op.f("pk_relation")),
    )
    op.create_index(op.f("ix_relation_target"), "relation", ["target"], unique=False)
    tables["setting"] = op.create_table(
        "setting",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("value", sa.Text(), nullable=False, comment="the setting's value"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_setting_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_setting")),
    )
    tables["share"] = op.create_table(
        "share",
        sa.Column("record_id", sa.Text(), nullable=False, comment="line"),
        sa.Column("finding", sa.Text(), nullable=False, comment="finding"),
        sa.Column("weight", sa.Text(), nullable=False, comment="weight against the others"),
        sa.Column("cost_minor", sa.BigInteger(), nullable=False, comment="its cost, minor units"),
        sa.Column(
            "billed_minor", sa.BigInteger(), nullable=True, comment="its billed amount, minor units"
        ),
        sa.ForeignKeyConstraint(
            ["finding"],
            ["record.id"],
            name=op.f("fk_share_finding"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_share_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", "finding", name=op.f("pk_share")),
    )
    op.create_index(op.f("ix_share_finding"), "share", ["finding"], unique=False)
    tables["supplier"] = op.create_table(
        "supplier",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_supplier_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_supplier")),
    )
    tables["terms"] = op.create_table(
        "terms",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("basis", sa.Text(), nullable=False, comment="hammer or all-in"),
        sa.Column(
            "as_is_low_minor",
            sa.BigInteger(),
            nullable=True,
            comment="price as it stands, low, minor units",
        ),
        sa.Column(
            "as_is_likely_minor",
            sa.BigInteger(),
            nullable=True,
            comment="price as it stands, likely, minor units",
        ),
        sa.Column(
            "as_is_high_minor",
            sa.BigInteger(),
            nullable=True,
            comment="price as it stands, high, minor units",
        ),
        sa.Column(
            "labour_cost_rate_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cost per hour in the plan, minor units",
        ),
        sa.Column(
            "commission",
            sa.Text(),
            nullable=True,
            comment="seller's commission by slices, canonical list",
        ),
        sa.Column(
            "premium", sa.Text(), nullable=True, comment="buyer's premium by slices, canonical list"
        ),
        sa.Column(
            "fees_minor", sa.BigInteger(), nullable=True, comment="fixed sale fees, minor units"
        ),
        sa.Column(
            "charge_out_rate_minor",
            sa.BigInteger(),
            nullable=True,
            comment="charge-out per hour in the plan, minor units",
        ),
        sa.Column("sells", sa.Text(), nullable=True, comment="fixed day or when ready"),
        sa.Column("sale_day", sa.Text(), nullable=True, comment="day of the sale"),
        sa.Column(
            "cut_off", sa.Text(), nullable=True, comment="real deadline, photographs or catalogue"
        ),
        sa.Column(
            "holding_per_day_minor",
            sa.BigInteger(),
            nullable=True,
            comment="holding cost per day, minor units",
        ),
        sa.Column(
            "cash_limit_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cash that may be spent, minor units",
        ),
        sa.Column(
            "hours_limit", sa.Text(), nullable=True, comment="hands-on hours that may be spent"
        ),
        sa.Column(
            "owner_limit_minor",
            sa.BigInteger(),
            nullable=True,
            comment="what the owner allows to be spent, minor units",
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_terms_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_terms_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_terms")),
    )
    op.create_index(op.f("ix_terms_vehicle"), "terms", ["vehicle"], unique=False)
    tables["vehicle"] = op.create_table(
        "vehicle",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column(
            "designation",
            sa.Text(),
            nullable=False,
            comment="year, make and model as on the documents",
        ),
        sa.Column("holding", sa.Text(), nullable=False, comment="own stock or consigned"),
        sa.Column("owner", sa.Text(), nullable=True, comment="owner of a consigned vehicle"),
        sa.Column("body_style", sa.Text(), nullable=True, comment="body style"),
        sa.Column("model_year", sa.Integer(), nullable=True, comment="model year"),
        sa.Column("colour", sa.Text(), nullable=True, comment="colour"),
        sa.Column(
            "chassis_stamped", sa.Text(), nullable=True, comment="chassis number exactly as stamped"
        ),
        sa.Column(
            "chassis_documents",
            sa.Text(),
            nullable=True,
            comment="chassis number as on the documents",
        ),
        sa.Column("engine_number", sa.Text(), nullable=True, comment="engine number as stamped"),
        sa.Column(
            "odometer_shown", sa.Text(), nullable=True, comment="digits shown, leading zeros kept"
        ),
        sa.Column("odometer_unit", sa.Text(), nullable=True, comment="km, miles or unknown"),
        sa.Column("odometer_wheels", sa.Integer(), nullable=True, comment="number of digit wheels"),
        sa.Column(
            "true_distance", sa.Text(), nullable=True, comment="known, not known or believed"
        ),
        sa.Column("imported", sa.Boolean(), nullable=True, comment="came from another country"),
        sa.Column("arrived_on", sa.Text(), nullable=True, comment="day of arrival"),
        sa.ForeignKeyConstraint(
            ["owner"],
            ["record.id"],
            name=op.f("fk_vehicle_owner"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_vehicle_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_vehicle")),
    )
    op.create_index(op.f("ix_vehicle_owner"), "vehicle", ["owner"], unique=False)
    dialect = op.get_bind().dialect.name
    guards = head_guards(dialect)
    for name, table in tables.items():
        if name in _ERASABLE:
            guards += erasable_guards(dialect, table)
        elif name not in _MUTABLE:
            guards += posted_guards(dialect, table)
    for guard in guards:
        for statement in guard.statements:
            op.execute(sa.DDL(statement.replace("%", "%%")))


def downgrade() -> None:
    """Refuse: going back would drop posted records."""
    message = "a book is not taken back to an older schema: that would drop posted records"
    raise NotImplementedError(message)
