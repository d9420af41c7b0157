"""Lines that stand: they take no other line back, and no other line takes them back."""

from __future__ import annotations

from sqlalchemy import ColumnElement, and_, exists, func

from recondition.book.tables import line

_taking_back = line.alias("taking_back")


def standing() -> ColumnElement[bool]:
    """Give the condition under which a row of ``line`` stands.

    It is looked up line by line: a list of all that were taken back grows with the book. And
    ``reverses IS NULL`` as it reads makes SQLite take its unique index for the way to one row,
    and then walk through every line of the book.
    """
    taken_back = exists().where(_taking_back.c.reverses == line.c.record_id)
    return and_(func.coalesce(line.c.reverses, "") == "", ~taken_back)
