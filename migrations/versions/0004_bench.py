"""The condition bench: instruments, readings, tests, custody, rules of work.

Posted tables get new columns and stay what they are: none is rebuilt. New tables get their
guards here.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from recondition.book.triggers import posted_guards

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def _add(table: str, name: str, kind: str, comment: str, *, refers: bool = False) -> None:
    """Add a column; one that names a record is checked at commit, as all of them are."""
    held = f'CONSTRAINT "fk_{table}_{name}" REFERENCES record (id) DEFERRABLE INITIALLY DEFERRED'
    op.execute(sa.DDL(f'ALTER TABLE "{table}" ADD COLUMN "{name}" {kind} {held if refers else ""}'))
    if op.get_bind().dialect.name == "postgresql":
        quoted = comment.replace("'", "''").replace("%", "%%")
        op.execute(sa.DDL(f'COMMENT ON COLUMN "{table}"."{name}" IS \'{quoted}\''))
    if refers:
        op.create_index(op.f(f"ix_{table}_{name}"), table, [name], unique=False)


def upgrade() -> None:
    """Add the columns, make the tables, then the guards."""
    _add("candidate", "film_removal_number", "TEXT", "film it is expected to take")
    _add("candidate", "film_removal_unit", "TEXT", "unit of that")
    _add("candidate", "products", "TEXT", "products it would use, canonical list")
    _add("clock", "film_removal_number", "TEXT", "film the work is expected to take")
    _add("clock", "film_removal_unit", "TEXT", "unit of that")
    _add("document", "camera_ahead_number", "TEXT", "by how much the camera's clock was ahead")
    _add("document", "camera_ahead_unit", "TEXT", "unit of that")
    _add("document", "before", "TEXT", "picture of the same place before", refers=True)
    _add("finding", "distance_number", "TEXT", "distance of the eye")
    _add("finding", "distance_unit", "TEXT", "unit of that")
    _add("finding", "step", "TEXT", "step of the work")
    _add("finding", "when", "TEXT", "before or after that step")
    _add("finding", "new_since_arrival", "BOOLEAN", "was not there on arrival")
    _add("line", "film_removal_number", "TEXT", "film the work is expected to take")
    _add("line", "film_removal_unit", "TEXT", "unit of that")
    _add("panel", "film_floor_number", "TEXT", "film that must stay")
    _add("panel", "film_floor_unit", "TEXT", "unit of that")
    _add("product", "ingredients", "TEXT", "section 3 of the sheet")
    _add("vehicle", "film_floor_number", "TEXT", "film that must stay")
    _add("vehicle", "film_floor_unit", "TEXT", "unit of that")
    tables: dict[str, sa.Table] = {}

    tables["custody_item"] = op.create_table(
        "custody_item",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("item_class", sa.Text(), nullable=False, comment="what kind of thing"),
        sa.Column("found_at", sa.Text(), nullable=False, comment="ISO 8601 with zone"),
        sa.Column("found_by", sa.Text(), nullable=True, comment="who found or took it"),
        sa.Column("pieces", sa.Integer(), nullable=True, comment="how many"),
        sa.Column("bag", sa.Text(), nullable=True, comment="number of bag or seal"),
        sa.ForeignKeyConstraint(
            ["found_by"],
            ["record.id"],
            name=op.f("fk_custody_item_found_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_custody_item_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_custody_item_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_custody_item")),
    )
    tables["custody_move"] = op.create_table(
        "custody_move",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("item", sa.Text(), nullable=True, comment="which thing"),
        sa.Column("moved_at", sa.Text(), nullable=False, comment="ISO 8601 with zone"),
        sa.Column("moved_by", sa.Text(), nullable=True, comment="who moved it"),
        sa.Column("seal_intact", sa.Boolean(), nullable=True, comment="seal was intact"),
        sa.Column(
            "identity_seen",
            sa.Boolean(),
            nullable=True,
            comment="a paper of whoever took it was looked at",
        ),
        sa.ForeignKeyConstraint(
            ["item"],
            ["record.id"],
            name=op.f("fk_custody_move_item"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["moved_by"],
            ["record.id"],
            name=op.f("fk_custody_move_moved_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_custody_move_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_custody_move_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_custody_move")),
    )
    tables["drop_reading"] = op.create_table(
        "drop_reading",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("panel", sa.Text(), nullable=False, comment="which panel"),
        sa.Column("place", sa.Text(), nullable=True, comment="place on the panel"),
        sa.Column("read_on", sa.Text(), nullable=False, comment="when"),
        sa.Column("step", sa.Text(), nullable=True, comment="step of the work"),
        sa.Column("when", sa.Text(), nullable=True, comment="before or after that step"),
        sa.Column("read_by", sa.Text(), nullable=True, comment="who read it"),
        sa.Column("heights", sa.Text(), nullable=False, comment="heights in mm, canonical list"),
        sa.Column("widths", sa.Text(), nullable=False, comment="widths in mm, canonical list"),
        sa.Column("soap_rinsed", sa.Boolean(), nullable=True, comment="soap was rinsed off before"),
        sa.ForeignKeyConstraint(
            ["read_by"],
            ["record.id"],
            name=op.f("fk_drop_reading_read_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_drop_reading_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_drop_reading_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_drop_reading")),
    )
    tables["film_reading"] = op.create_table(
        "film_reading",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("panel", sa.Text(), nullable=False, comment="which panel"),
        sa.Column("place", sa.Text(), nullable=True, comment="place on the panel"),
        sa.Column("read_on", sa.Text(), nullable=False, comment="when"),
        sa.Column("step", sa.Text(), nullable=True, comment="step of the work"),
        sa.Column("when", sa.Text(), nullable=True, comment="before or after that step"),
        sa.Column("read_by", sa.Text(), nullable=True, comment="who read it"),
        sa.Column("readings", sa.Text(), nullable=False, comment="readings, canonical list"),
        sa.Column("unit", sa.Text(), nullable=False, comment="um or mil"),
        sa.Column("instrument", sa.Text(), nullable=True, comment="gauge"),
        sa.Column("zero_number", sa.Text(), nullable=True, comment="read on bare metal before"),
        sa.Column("zero_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column("foil_number", sa.Text(), nullable=True, comment="thickness of the foil"),
        sa.Column("foil_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column("foil_read_number", sa.Text(), nullable=True, comment="read on the foil before"),
        sa.Column("foil_read_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column(
            "zero_after_number", sa.Text(), nullable=True, comment="read on bare metal afterwards"
        ),
        sa.Column("zero_after_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column(
            "foil_after_number", sa.Text(), nullable=True, comment="read on the foil afterwards"
        ),
        sa.Column("foil_after_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column("surface_number", sa.Text(), nullable=True, comment="temperature of the panel"),
        sa.Column("surface_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.ForeignKeyConstraint(
            ["instrument"],
            ["record.id"],
            name=op.f("fk_film_reading_instrument"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["read_by"],
            ["record.id"],
            name=op.f("fk_film_reading_read_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_film_reading_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_film_reading_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_film_reading")),
    )
    tables["gloss_reading"] = op.create_table(
        "gloss_reading",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("panel", sa.Text(), nullable=False, comment="which panel"),
        sa.Column("place", sa.Text(), nullable=True, comment="place on the panel"),
        sa.Column("read_on", sa.Text(), nullable=False, comment="when"),
        sa.Column("step", sa.Text(), nullable=True, comment="step of the work"),
        sa.Column("when", sa.Text(), nullable=True, comment="before or after that step"),
        sa.Column("read_by", sa.Text(), nullable=True, comment="who read it"),
        sa.Column("readings", sa.Text(), nullable=False, comment="readings, canonical list"),
        sa.Column("unit", sa.Text(), nullable=False, comment="GU20, GU60 or GU85"),
        sa.ForeignKeyConstraint(
            ["read_by"],
            ["record.id"],
            name=op.f("fk_gloss_reading_read_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_gloss_reading_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_gloss_reading_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_gloss_reading")),
    )
    tables["instrument"] = op.create_table(
        "instrument",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("name", sa.Text(), nullable=False, comment="what it is"),
        sa.Column("principle", sa.Text(), nullable=False, comment="how it works"),
        sa.Column(
            "uncertainty_number", sa.Text(), nullable=True, comment="uncertainty of one reading"
        ),
        sa.Column("uncertainty_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column("serial", sa.Text(), nullable=True, comment="serial number"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_instrument_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_instrument")),
    )
    tables["surface_test"] = op.create_table(
        "surface_test",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("panel", sa.Text(), nullable=False, comment="which panel"),
        sa.Column("test", sa.Text(), nullable=False, comment="which test"),
        sa.Column("answer", sa.Text(), nullable=False, comment="its answer"),
        sa.Column("tested_on", sa.Text(), nullable=False, comment="when"),
        sa.Column("place", sa.Text(), nullable=True, comment="place on the panel"),
        sa.Column("took_number", sa.Text(), nullable=True, comment="how long it took to show"),
        sa.Column("took_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column("tested_by", sa.Text(), nullable=True, comment="who tested"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_surface_test_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["tested_by"],
            ["record.id"],
            name=op.f("fk_surface_test_tested_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_surface_test_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_surface_test")),
    )
    tables["water_hardness"] = op.create_table(
        "water_hardness",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("tap", sa.Text(), nullable=False, comment="which tap"),
        sa.Column("read_on", sa.Text(), nullable=False, comment="when"),
        sa.Column("calcium_number", sa.Text(), nullable=True, comment="calcium"),
        sa.Column("calcium_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column("magnesium_number", sa.Text(), nullable=True, comment="magnesium"),
        sa.Column("magnesium_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column("strip_number", sa.Text(), nullable=True, comment="strip, as CaCO3"),
        sa.Column("strip_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column("read_by", sa.Text(), nullable=True, comment="who read it"),
        sa.ForeignKeyConstraint(
            ["read_by"],
            ["record.id"],
            name=op.f("fk_water_hardness_read_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_water_hardness_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_water_hardness")),
    )
    tables["work_rule"] = op.create_table(
        "work_rule",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("task", sa.Text(), nullable=False, comment="what it is about, canonical list"),
        sa.Column("kind", sa.Text(), nullable=False, comment="what it asks"),
        sa.Column("other", sa.Text(), nullable=False, comment="the other work, canonical list"),
        sa.Column("scope", sa.Text(), nullable=False, comment="where"),
        sa.Column("since", sa.Text(), nullable=True, comment="counted since, canonical list"),
        sa.Column("only_after", sa.Boolean(), nullable=True, comment="holds only after that"),
        sa.Column("unless", sa.Text(), nullable=True, comment="not where it says, canonical list"),
        sa.Column("stops", sa.Boolean(), nullable=True, comment="blocks a posting"),
        sa.Column("off", sa.Boolean(), nullable=True, comment="rule of this name taken away"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_work_rule_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_work_rule")),
    )
    op.create_index(op.f("ix_custody_item_found_by"), "custody_item", ["found_by"], unique=False)
    op.create_index(op.f("ix_custody_item_vehicle"), "custody_item", ["vehicle"], unique=False)
    op.create_index(op.f("ix_custody_move_item"), "custody_move", ["item"], unique=False)
    op.create_index(op.f("ix_custody_move_moved_by"), "custody_move", ["moved_by"], unique=False)
    op.create_index(op.f("ix_custody_move_vehicle"), "custody_move", ["vehicle"], unique=False)
    op.create_index(op.f("ix_drop_reading_read_by"), "drop_reading", ["read_by"], unique=False)
    op.create_index(op.f("ix_drop_reading_vehicle"), "drop_reading", ["vehicle"], unique=False)
    op.create_index(
        op.f("ix_film_reading_instrument"), "film_reading", ["instrument"], unique=False
    )
    op.create_index(op.f("ix_film_reading_read_by"), "film_reading", ["read_by"], unique=False)
    op.create_index(op.f("ix_film_reading_vehicle"), "film_reading", ["vehicle"], unique=False)
    op.create_index(op.f("ix_gloss_reading_read_by"), "gloss_reading", ["read_by"], unique=False)
    op.create_index(op.f("ix_gloss_reading_vehicle"), "gloss_reading", ["vehicle"], unique=False)
    op.create_index(op.f("ix_surface_test_tested_by"), "surface_test", ["tested_by"], unique=False)
    op.create_index(op.f("ix_surface_test_vehicle"), "surface_test", ["vehicle"], unique=False)
    op.create_index(op.f("ix_water_hardness_read_by"), "water_hardness", ["read_by"], unique=False)
    dialect = op.get_bind().dialect.name
    for name in sorted(tables):
        for guard in posted_guards(dialect, tables[name]):
            for statement in guard.statements:
                op.execute(sa.DDL(statement.replace("%", "%%")))


def downgrade() -> None:
    """Refuse: going back would drop posted records."""
    message = "a book is not taken back to an older schema: that would drop posted records"
    raise NotImplementedError(message)
