"""The public sheet: consents, hidden places, what was let pass, editions.

Posted tables get new columns and stay what they are: none is rebuilt. New tables get their
guards here.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from recondition.book.triggers import posted_guards

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def _add(table: str, name: str, comment: str) -> None:
    """Add a column of text."""
    op.execute(sa.DDL(f'ALTER TABLE "{table}" ADD COLUMN "{name}" TEXT'))
    if op.get_bind().dialect.name == "postgresql":
        op.execute(sa.DDL(f'COMMENT ON COLUMN "{table}"."{name}" IS \'{comment}\''))


def upgrade() -> None:
    """Add the columns, make the tables, then the guards."""
    _add("vehicle", "trim", "trim and its code")
    _add("vehicle", "body_number", "body number as stamped")
    tables: dict[str, sa.Table] = {}

    tables["consent"] = op.create_table(
        "consent",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column(
            "vehicle", sa.Text(), nullable=True, comment="of which vehicle, none for every vehicle"
        ),
        sa.Column("shows", sa.Text(), nullable=False, comment="what may be shown"),
        sa.Column("given_on", sa.Text(), nullable=False, comment="first day it holds"),
        sa.Column("person", sa.Text(), nullable=True, comment="person who may be named"),
        sa.Column("supplier", sa.Text(), nullable=True, comment="firm that may be named"),
        sa.Column(
            "withdrawn_on", sa.Text(), nullable=True, comment="day from which it no longer holds"
        ),
        sa.ForeignKeyConstraint(
            ["person"],
            ["record.id"],
            name=op.f("fk_consent_person"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_consent_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["supplier"],
            ["record.id"],
            name=op.f("fk_consent_supplier"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_consent_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_consent")),
    )
    tables["edition"] = op.create_table(
        "edition",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("number", sa.Integer(), nullable=True, comment="1, 2, 3 on each vehicle"),
        sa.Column("made_on", sa.Text(), nullable=False, comment="day"),
        sa.Column("head", sa.Text(), nullable=False, comment="hash of its signed head"),
        sa.Column("code", sa.Text(), nullable=False, comment="short code printed on paper"),
        sa.Column("fingerprint", sa.Text(), nullable=False, comment="of the key that signed"),
        sa.Column("content", sa.Text(), nullable=False, comment="digest of what is public"),
        sa.Column(
            "locale", sa.Text(), nullable=False, comment="language and forms it is written in"
        ),
        sa.Column("supersedes", sa.Text(), nullable=True, comment="edition before"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_edition_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"],
            ["record.id"],
            name=op.f("fk_edition_supersedes"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_edition_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_edition")),
    )
    tables["edition_withdrawn"] = op.create_table(
        "edition_withdrawn",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("edition", sa.Text(), nullable=True, comment="which edition"),
        sa.Column("withdrawn_on", sa.Text(), nullable=False, comment="day"),
        sa.ForeignKeyConstraint(
            ["edition"],
            ["record.id"],
            name=op.f("fk_edition_withdrawn_edition"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_edition_withdrawn_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_edition_withdrawn_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_edition_withdrawn")),
    )
    tables["let_pass"] = op.create_table(
        "let_pass",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("hit", sa.Text(), nullable=False, comment="code of the hit"),
        sa.Column("decided_on", sa.Text(), nullable=False, comment="day"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_let_pass_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_let_pass_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_let_pass")),
    )
    tables["redaction"] = op.create_table(
        "redaction",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("document", sa.Text(), nullable=True, comment="on which picture"),
        sa.Column("from_left", sa.Text(), nullable=False, comment="percent of the width before it"),
        sa.Column("from_top", sa.Text(), nullable=False, comment="percent of the height above it"),
        sa.Column("width", sa.Text(), nullable=False, comment="percent of the width"),
        sa.Column("height", sa.Text(), nullable=False, comment="percent of the height"),
        sa.Column("off", sa.Boolean(), nullable=True, comment="is painted over no longer"),
        sa.ForeignKeyConstraint(
            ["document"],
            ["record.id"],
            name=op.f("fk_redaction_document"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_redaction_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_redaction_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_redaction")),
    )
    op.create_index(op.f("ix_consent_person"), "consent", ["person"], unique=False)
    op.create_index(op.f("ix_consent_supplier"), "consent", ["supplier"], unique=False)
    op.create_index(op.f("ix_consent_vehicle"), "consent", ["vehicle"], unique=False)
    op.create_index(op.f("ix_edition_supersedes"), "edition", ["supersedes"], unique=False)
    op.create_index(op.f("ix_edition_vehicle"), "edition", ["vehicle"], unique=False)
    op.create_index(
        op.f("ix_edition_withdrawn_edition"), "edition_withdrawn", ["edition"], unique=False
    )
    op.create_index(
        op.f("ix_edition_withdrawn_vehicle"), "edition_withdrawn", ["vehicle"], unique=False
    )
    op.create_index(op.f("ix_let_pass_vehicle"), "let_pass", ["vehicle"], unique=False)
    op.create_index(op.f("ix_redaction_document"), "redaction", ["document"], unique=False)
    op.create_index(op.f("ix_redaction_vehicle"), "redaction", ["vehicle"], unique=False)
    dialect = op.get_bind().dialect.name
    for name in sorted(tables):
        for guard in posted_guards(dialect, tables[name]):
            for statement in guard.statements:
                op.execute(sa.DDL(statement.replace("%", "%%")))


def downgrade() -> None:
    """Refuse: going back would drop posted records."""
    message = "a book is not taken back to an older schema: that would drop posted records"
    raise NotImplementedError(message)
