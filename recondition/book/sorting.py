"""How texts are sorted and compared by the database: by their bytes on either engine.

A PostgreSQL server sorts in the order of its language where nothing else is said, so that the
same book would come out in another order there.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.functions import FunctionElement


class by_bytes(FunctionElement[str]):  # noqa: N801 - reads as a function of SQL
    """A text column that is sorted by or compared: its order is that of Python and of SQLite."""

    inherit_cache = True


@compiles(by_bytes)
def _plain(element: by_bytes, compiler: SQLCompiler, **more: Any) -> str:  # noqa: ANN401 - SQLAlchemy's own
    """Write the column alone: SQLite goes by bytes."""
    return compiler.process(element.clauses, **more)


@compiles(by_bytes, "postgresql")
def _on_server(element: by_bytes, compiler: SQLCompiler, **more: Any) -> str:  # noqa: ANN401 - as above
    """Write the column with the collation of bytes."""
    return f'{compiler.process(element.clauses, **more)} COLLATE "C"'
