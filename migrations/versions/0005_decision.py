"""The decision: tests to make first, comparables, frozen decisions, sales, the shop's time.

Posted tables get new columns and stay what they are: none is rebuilt. New tables get their
guards here.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from recondition.book.triggers import posted_guards

revision = "0005"
down_revision = "0004"
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
    _add("candidate", "skills", "TEXT", "skills it needs, canonical list")
    _add("person", "skills", "TEXT", "what the person can do, canonical list")
    _add("person", "hours_a_day", "TEXT", "hours worked on vehicles a working day")
    _add("terms", "work_from", "TEXT", "day from which work can be done")
    _add("terms", "cut_off_time", "TEXT", "time of day on the cut-off")
    _add("terms", "loss_limit_minor", "BIGINT", "worst outcome to be borne, minor units")
    _add(
        "terms",
        "ask_above_minor",
        "BIGINT",
        "cost of one piece of work to be asked about, minor units",
    )
    _add("terms", "next_sale_days", "TEXT", "days until the next sale after this")
    _add(
        "terms", "next_sale_fee_minor", "BIGINT", "what the next sale costs once more, minor units"
    )
    tables: dict[str, sa.Table] = {}

    tables["comparable"] = op.create_table(
        "comparable",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="whose price it bears on"),
        sa.Column(
            "price_is",
            sa.Text(),
            nullable=False,
            comment="sale, organiser's estimate or this vehicle",
        ),
        sa.Column("sold_on", sa.Text(), nullable=True, comment="day of the sale"),
        sa.Column(
            "price_minor", sa.BigInteger(), nullable=True, comment="price fetched, minor units"
        ),
        sa.Column(
            "estimate_low_minor",
            sa.BigInteger(),
            nullable=True,
            comment="low estimate printed, minor units",
        ),
        sa.Column(
            "estimate_high_minor",
            sa.BigInteger(),
            nullable=True,
            comment="high estimate printed, minor units",
        ),
        sa.Column("basis", sa.Text(), nullable=True, comment="hammer or all-in"),
        sa.Column("features", sa.Text(), nullable=True, comment="what it is like, canonical list"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_comparable_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_comparable_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_comparable")),
    )
    tables["decision"] = op.create_table(
        "decision",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("decided_on", sa.Text(), nullable=False, comment="day"),
        sa.Column(
            "price_low_minor",
            sa.BigInteger(),
            nullable=True,
            comment="price expected after the work, low, minor units",
        ),
        sa.Column(
            "price_likely_minor",
            sa.BigInteger(),
            nullable=True,
            comment="price expected after the work, likely, minor units",
        ),
        sa.Column(
            "price_high_minor",
            sa.BigInteger(),
            nullable=True,
            comment="price expected after the work, high, minor units",
        ),
        sa.Column("basis", sa.Text(), nullable=False, comment="hammer or all-in"),
        sa.Column(
            "cost_low_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cost of the plan, low, minor units",
        ),
        sa.Column(
            "cost_likely_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cost of the plan, likely, minor units",
        ),
        sa.Column(
            "cost_high_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cost of the plan, high, minor units",
        ),
        sa.Column(
            "net_low_minor",
            sa.BigInteger(),
            nullable=True,
            comment="net of the plan, low, minor units",
        ),
        sa.Column(
            "net_likely_minor",
            sa.BigInteger(),
            nullable=True,
            comment="net of the plan, likely, minor units",
        ),
        sa.Column(
            "net_high_minor",
            sa.BigInteger(),
            nullable=True,
            comment="net of the plan, high, minor units",
        ),
        sa.Column("proven", sa.Boolean(), nullable=True, comment="proven best"),
        sa.Column("inputs", sa.Text(), nullable=False, comment="all it rested on, canonical"),
        sa.Column("versions", sa.Text(), nullable=False, comment="what worked it out"),
        sa.Column("seed", sa.Integer(), nullable=True, comment="seed of the draws"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_decision_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_decision_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_decision")),
    )
    tables["sale"] = op.create_table(
        "sale",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("sold_on", sa.Text(), nullable=False, comment="day"),
        sa.Column(
            "price_minor",
            sa.BigInteger(),
            nullable=True,
            comment="what it was sold for, minor units",
        ),
        sa.Column("basis", sa.Text(), nullable=True, comment="hammer or all-in"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_sale_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_sale_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_sale")),
    )
    tables["trial"] = op.create_table(
        "trial",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("decides", sa.Text(), nullable=True, comment="candidate work in question"),
        sa.Column(
            "p_good", sa.Text(), nullable=False, comment="chance that it turns out well, 0 to 1"
        ),
        sa.Column(
            "good_uplift_low_minor",
            sa.BigInteger(),
            nullable=True,
            comment="uplift if it does, low, minor units",
        ),
        sa.Column(
            "good_uplift_likely_minor",
            sa.BigInteger(),
            nullable=True,
            comment="uplift if it does, likely, minor units",
        ),
        sa.Column(
            "good_uplift_high_minor",
            sa.BigInteger(),
            nullable=True,
            comment="uplift if it does, high, minor units",
        ),
        sa.Column(
            "bad_uplift_low_minor",
            sa.BigInteger(),
            nullable=True,
            comment="uplift if it does not, low, minor units",
        ),
        sa.Column(
            "bad_uplift_likely_minor",
            sa.BigInteger(),
            nullable=True,
            comment="uplift if it does not, likely, minor units",
        ),
        sa.Column(
            "bad_uplift_high_minor",
            sa.BigInteger(),
            nullable=True,
            comment="uplift if it does not, high, minor units",
        ),
        sa.Column("good_hours_low", sa.Text(), nullable=True, comment="hours if it does, low"),
        sa.Column(
            "good_hours_likely", sa.Text(), nullable=True, comment="hours if it does, likely"
        ),
        sa.Column("good_hours_high", sa.Text(), nullable=True, comment="hours if it does, high"),
        sa.Column(
            "good_cash_low_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cash if it does, low, minor units",
        ),
        sa.Column(
            "good_cash_likely_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cash if it does, likely, minor units",
        ),
        sa.Column(
            "good_cash_high_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cash if it does, high, minor units",
        ),
        sa.Column("bad_hours_low", sa.Text(), nullable=True, comment="hours if it does not, low"),
        sa.Column(
            "bad_hours_likely", sa.Text(), nullable=True, comment="hours if it does not, likely"
        ),
        sa.Column("bad_hours_high", sa.Text(), nullable=True, comment="hours if it does not, high"),
        sa.Column(
            "bad_cash_low_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cash if it does not, low, minor units",
        ),
        sa.Column(
            "bad_cash_likely_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cash if it does not, likely, minor units",
        ),
        sa.Column(
            "bad_cash_high_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cash if it does not, high, minor units",
        ),
        sa.Column("test_hours", sa.Text(), nullable=True, comment="hours of the test"),
        sa.Column(
            "test_cash_minor",
            sa.BigInteger(),
            nullable=True,
            comment="cash of the test, minor units",
        ),
        sa.Column(
            "reliability",
            sa.Text(),
            nullable=True,
            comment="chance that the test says rightly which it is, 0 to 1",
        ),
        sa.ForeignKeyConstraint(
            ["decides"],
            ["record.id"],
            name=op.f("fk_trial_decides"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_trial_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_trial_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_trial")),
    )
    op.create_index(op.f("ix_comparable_vehicle"), "comparable", ["vehicle"], unique=False)
    op.create_index(op.f("ix_decision_vehicle"), "decision", ["vehicle"], unique=False)
    op.create_index(op.f("ix_sale_vehicle"), "sale", ["vehicle"], unique=False)
    op.create_index(op.f("ix_trial_decides"), "trial", ["decides"], unique=False)
    op.create_index(op.f("ix_trial_vehicle"), "trial", ["vehicle"], unique=False)
    dialect = op.get_bind().dialect.name
    for name in sorted(tables):
        for guard in posted_guards(dialect, tables[name]):
            for statement in guard.statements:
                op.execute(sa.DDL(statement.replace("%", "%%")))


def downgrade() -> None:
    """Refuse: going back would drop posted records."""
    message = "a book is not taken back to an older schema: that would drop posted records"
    raise NotImplementedError(message)
