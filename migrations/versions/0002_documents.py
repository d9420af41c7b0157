"""Documents and photographs, kept by the hash of their content.

Posted tables get their guards here and are never rebuilt by a later migration.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from recondition.book.triggers import erasable_guards, posted_guards

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables, then the guards."""
    tables: dict[str, sa.Table] = {}

    tables["document"] = op.create_table(
        "document",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("kind", sa.Text(), nullable=False, comment="what it is"),
        sa.Column("visibility", sa.Text(), nullable=True, comment="evidence, listing or both"),
        sa.Column("finding", sa.Text(), nullable=True, comment="of which finding"),
        sa.Column("panel", sa.Text(), nullable=True, comment="of which panel"),
        sa.Column("taken_at", sa.Text(), nullable=True, comment="ISO 8601 with zone"),
        sa.ForeignKeyConstraint(
            ["finding"],
            ["record.id"],
            name=op.f("fk_document_finding"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_document_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_document_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_document")),
    )
    op.create_index(op.f("ix_document_finding"), "document", ["finding"], unique=False)
    op.create_index(op.f("ix_document_vehicle"), "document", ["vehicle"], unique=False)
    tables["stored_file"] = op.create_table(
        "stored_file",
        sa.Column("record_id", sa.Text(), nullable=False, comment="document"),
        sa.Column("salt", sa.LargeBinary(), nullable=False, comment="32 random bytes"),
        sa.Column("sha256", sa.Text(), nullable=False, comment="hash it lies on disk by"),
        sa.Column("size_bytes", sa.BigInteger(), nullable=False, comment="size"),
        sa.Column("media_type", sa.Text(), nullable=False, comment="by its content, not its name"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_stored_file_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_stored_file")),
    )
    op.create_index(op.f("ix_stored_file_sha256"), "stored_file", ["sha256"], unique=False)
    dialect = op.get_bind().dialect.name
    guards = posted_guards(dialect, tables["document"])
    guards += erasable_guards(dialect, tables["stored_file"])
    for guard in guards:
        for statement in guard.statements:
            op.execute(sa.DDL(statement.replace("%", "%%")))


def downgrade() -> None:
    """Refuse: going back would drop posted records."""
    message = "a book is not taken back to an older schema: that would drop posted records"
    raise NotImplementedError(message)
