"""What the pages need: logins, their sessions, links for buyers, and the trail.

New tables only. Those of the trail get their guards here.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from recondition.book.triggers import posted_guards, unchanged_guards

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables, then the guards."""
    tables: dict[str, sa.Table] = {}
    tables["login_try"] = op.create_table(
        "login_try",
        sa.Column("id", sa.Text(), nullable=False, comment="random id"),
        sa.Column("name_hash", sa.Text(), nullable=False, comment="SHA-256 of the folded name"),
        sa.Column("address", sa.Text(), nullable=False, comment="where it came from"),
        sa.Column("at", sa.Text(), nullable=False, comment="when it was tried, ISO 8601"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_login_try")),
    )
    tables["login"] = op.create_table(
        "login",
        sa.Column("id", sa.Text(), nullable=False, comment="random id"),
        sa.Column("name", sa.Text(), nullable=False, comment="as it was given"),
        sa.Column("name_folded", sa.Text(), nullable=False, comment="in small letters"),
        sa.Column("role", sa.Text(), nullable=False, comment="what it may see and do"),
        sa.Column("person", sa.Text(), nullable=False, comment="whose entries they are"),
        sa.Column(
            "password_hash",
            sa.Text(),
            nullable=True,
            comment="Argon2id, with its salt and parameters",
        ),
        sa.Column("made_at", sa.Text(), nullable=False, comment="since when, ISO 8601"),
        sa.Column(
            "closed_at", sa.Text(), nullable=True, comment="from when on it opens nothing, ISO 8601"
        ),
        sa.ForeignKeyConstraint(
            ["person"],
            ["record.id"],
            name=op.f("fk_login_person"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_login")),
        sa.UniqueConstraint("name_folded", name=op.f("uq_login_name_folded")),
    )
    tables["login_session"] = op.create_table(
        "login_session",
        sa.Column(
            "token_hash",
            sa.Text(),
            nullable=False,
            comment="SHA-256 of the token that the browser keeps",
        ),
        sa.Column("login", sa.Text(), nullable=False, comment="who is signed in"),
        sa.Column("made_at", sa.Text(), nullable=False, comment="since when, ISO 8601"),
        sa.Column(
            "seen_at", sa.Text(), nullable=False, comment="seen last, to some minutes, ISO 8601"
        ),
        sa.Column("ends_at", sa.Text(), nullable=False, comment="until when at most, ISO 8601"),
        sa.ForeignKeyConstraint(
            ["login"],
            ["login.id"],
            name=op.f("fk_login_session_login"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_login_session")),
    )
    tables["login_token"] = op.create_table(
        "login_token",
        sa.Column(
            "token_hash",
            sa.Text(),
            nullable=False,
            comment="SHA-256 of the token, which sets a password once",
        ),
        sa.Column("login", sa.Text(), nullable=False, comment="whose password"),
        sa.Column("made_at", sa.Text(), nullable=False, comment="since when, ISO 8601"),
        sa.Column("ends_at", sa.Text(), nullable=False, comment="until when, ISO 8601"),
        sa.Column("used_at", sa.Text(), nullable=True, comment="when it was used, ISO 8601"),
        sa.ForeignKeyConstraint(
            ["login"],
            ["login.id"],
            name=op.f("fk_login_token_login"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_login_token")),
    )
    tables["share_link"] = op.create_table(
        "share_link",
        sa.Column("id", sa.Text(), nullable=False, comment="random id"),
        sa.Column("token_hash", sa.Text(), nullable=False, comment="SHA-256 of the link's token"),
        sa.Column("vehicle", sa.Text(), nullable=False, comment="of which vehicle"),
        sa.Column(
            "number", sa.Integer(), nullable=True, comment="which edition, none for the newest"
        ),
        sa.Column("made_by", sa.Text(), nullable=True, comment="who made it"),
        sa.Column("made_at", sa.Text(), nullable=False, comment="since when, ISO 8601"),
        sa.Column("ends_at", sa.Text(), nullable=True, comment="until when, ISO 8601"),
        sa.Column(
            "withdrawn_at",
            sa.Text(),
            nullable=True,
            comment="from when on it opens nothing, ISO 8601",
        ),
        sa.ForeignKeyConstraint(
            ["made_by"],
            ["login.id"],
            name=op.f("fk_share_link_made_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_share_link_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_share_link")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_share_link_token_hash")),
    )
    tables["trail"] = op.create_table(
        "trail",
        sa.Column("id", sa.Text(), nullable=False, comment="a count, then random"),
        sa.Column("at", sa.Text(), nullable=False, comment="when, ISO 8601"),
        sa.Column(
            "login", sa.Text(), nullable=True, comment="who did it, none at the command line"
        ),
        sa.Column("about", sa.Text(), nullable=True, comment="login that it was done to"),
        sa.Column("action", sa.Text(), nullable=False, comment="what was done"),
        sa.ForeignKeyConstraint(
            ["about"],
            ["login.id"],
            name=op.f("fk_trail_about"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["login"],
            ["login.id"],
            name=op.f("fk_trail_login"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_trail")),
    )
    tables["trail_address"] = op.create_table(
        "trail_address",
        sa.Column("trail", sa.Text(), nullable=False, comment="row of the trail"),
        sa.Column("at", sa.Text(), nullable=False, comment="when, ISO 8601"),
        sa.Column("address", sa.Text(), nullable=False, comment="where it came from"),
        sa.ForeignKeyConstraint(
            ["trail"],
            ["trail.id"],
            name=op.f("fk_trail_address_trail"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("trail", name=op.f("pk_trail_address")),
    )
    tables["trail_words"] = op.create_table(
        "trail_words",
        sa.Column("trail", sa.Text(), nullable=False, comment="row of the trail"),
        sa.Column("subject", sa.Text(), nullable=False, comment="stock number, ref or sheet"),
        sa.Column("detail", sa.Text(), nullable=False, comment="in a few words"),
        sa.ForeignKeyConstraint(
            ["trail"],
            ["trail.id"],
            name=op.f("fk_trail_words_trail"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("trail", name=op.f("pk_trail_words")),
    )
    op.create_index(op.f("ix_login_try_address"), "login_try", ["address"], unique=False)
    op.create_index(op.f("ix_login_try_at"), "login_try", ["at"], unique=False)
    op.create_index(op.f("ix_login_try_name_hash"), "login_try", ["name_hash"], unique=False)
    op.create_index(op.f("ix_login_person"), "login", ["person"], unique=False)
    op.create_index(op.f("ix_login_session_login"), "login_session", ["login"], unique=False)
    op.create_index(op.f("ix_login_token_login"), "login_token", ["login"], unique=False)
    op.create_index(op.f("ix_share_link_made_by"), "share_link", ["made_by"], unique=False)
    op.create_index(op.f("ix_share_link_vehicle"), "share_link", ["vehicle"], unique=False)
    op.create_index(op.f("ix_trail_about"), "trail", ["about"], unique=False)
    op.create_index(op.f("ix_trail_at"), "trail", ["at"], unique=False)
    op.create_index(op.f("ix_trail_login"), "trail", ["login"], unique=False)
    op.create_index(op.f("ix_trail_address_at"), "trail_address", ["at"], unique=False)
    dialect = op.get_bind().dialect.name
    guards = posted_guards(dialect, tables["trail"])
    for name in ("trail_address", "trail_words"):
        guards += unchanged_guards(dialect, tables[name])
    for guard in guards:
        for statement in guard.statements:
            op.execute(sa.DDL(statement.replace("%", "%%")))


def downgrade() -> None:
    """Refuse, as every migration does; ``recondition book downgrade`` is the way back."""
    message = "a book is not taken back to an older schema: that would drop posted records"
    raise NotImplementedError(message)
