"""Which schema a book has, and bringing it to the newest one.

Migrations only add columns or side tables; posted tables are never rebuilt, because a
rebuild would drop their triggers. The way back is in ``lowering``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from sqlalchemy import Connection, create_engine, inspect, text

from recondition.resources import resource

if TYPE_CHECKING:
    from alembic.config import Config

REVISIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008", "0009")
NEWEST = REVISIONS[-1]


def found(conn: Connection) -> str | None:
    """Read the schema version of a database; None where there is no book in it."""
    if not inspect(conn).has_table("alembic_version"):
        return None
    return conn.execute(text("SELECT version_num FROM alembic_version")).scalar()


def _config(conn: Connection) -> Config:
    """Point Alembic at the migrations and at an open connection."""
    from alembic.config import Config  # noqa: PLC0415 - only creating and upgrading need it

    config = Config()
    config.set_main_option("script_location", str(resource("migrations")))
    config.attributes["connection"] = conn
    return config


def upgrade(conn: Connection, to: str = "head") -> None:
    """Bring a database to a schema version inside the caller's transaction."""
    from alembic import command  # noqa: PLC0415 - as above

    command.upgrade(_config(conn), to)


class Parts(NamedTuple):
    """The names of the columns of a table, and of its indexes."""

    columns: set[str]
    indexes: set[str]


def parts_at(revision: str) -> dict[str, Parts]:
    """Give what every table has at a schema version, from the migrations themselves."""
    engine = create_engine("sqlite://")
    with engine.begin() as conn:
        upgrade(conn, revision)
        inspector = inspect(conn)
        return {
            table: Parts(
                {column["name"] for column in inspector.get_columns(table)},
                {str(index["name"]) for index in inspector.get_indexes(table)},
            )
            for table in inspector.get_table_names()
        }
