"""Looking a book through for a word: refs, numbers of a car, panels, titles, names, words.

What was typed is looked for anywhere in a text, whatever its case; in numbers of a car also
without blanks and dashes. A ref that is typed whole is found by its index. Each group is bounded.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, String, func, literal, or_, select

from recondition.book.kinds import KINDS
from recondition.book.tables import entity, free_text, record

SHOWN_MAX = 20
COUNTED_MAX = 500
TYPED_MAX = 100
_AROUND = 40
_ESCAPE = "\\"

# Columns of a kind's own table that are looked through, and what each holds, in words.
SEARCHED: dict[str, dict[str, str]] = {
    "vehicle": {"designation": "vehicle", "colour": "colour"},
    "panel": {"panel": "panel"},
    "finding": {"panel": "panel", "defect": "defect"},
    "film reading": {"panel": "panel"},
    "product": {"name": "product", "material_type": "material type"},
    "receipt": {"batch_number": "batch number", "invoice_number": "invoice number"},
    "supplier invoice": {"number": "invoice number"},
    "document": {"panel": "panel"},
    "instrument": {"name": "instrument", "serial": "serial number"},
    "edition": {"code": "short code"},
    "labour": {"panel": "panel", "operation": "operation"},
}
# Numbers of a car; blanks and dashes in them do not count.
NUMBERS = {
    "chassis_stamped": "chassis number as stamped",
    "chassis_documents": "chassis number on documents",
    "engine_number": "engine number",
    "body_number": "body number",
}


@dataclass(frozen=True, slots=True)
class Hit:
    """One record that was found: where in it, and the text around what was looked for."""

    kind: str
    ref: str
    subject: str
    where: str
    text: str


@dataclass(frozen=True, slots=True)
class Group:
    """What was found of one kind: the first hits and how many there are, COUNTED_MAX at most."""

    kind: str
    hits: tuple[Hit, ...]
    count: int

    @property
    def more(self) -> bool:
        """Whether there may be more than were counted."""
        return self.count >= COUNTED_MAX


def tidied(typed: str) -> str:
    """Give what is looked for of what was typed: one blank between words, no control signs."""
    plain = "".join(sign if sign.isprintable() else " " for sign in typed)
    return " ".join(plain.split())[:TYPED_MAX]


def search(conn: Connection, typed: str, words: Mapping[str, Iterable[str]],
           kinds: Iterable[str]) -> list[Group]:  # fmt: skip
    """Look for a text in records of some ``kinds``, in the free texts named by kind in ``words``.

    Groups come in the order of ``kinds``, in each those first whose ref was typed whole. An
    empty text finds nothing.
    """
    wanted, allowed = tidied(typed), tuple(kinds)
    if not wanted or not allowed:
        return []
    hits: dict[tuple[str, str], Hit] = {}
    for query in _queries(wanted, words, allowed):
        for row in conn.execute(query.limit(COUNTED_MAX)):
            hits.setdefault((row.kind, row.ref), _hit(row, wanted))
    found: dict[str, list[Hit]] = {kind: [] for kind in allowed}
    for hit in hits.values():
        found[hit.kind].append(hit)
    return [
        Group(kind, tuple(of_kind[:SHOWN_MAX]), min(len(of_kind), COUNTED_MAX))
        for kind, of_kind in found.items()
        if of_kind
    ]


def _pattern(wanted: str) -> str:
    """Write a text as a pattern that finds it anywhere; its own signs mean themselves."""
    for sign in (_ESCAPE, "%", "_"):
        wanted = wanted.replace(sign, _ESCAPE + sign)
    return f"%{wanted}%"


def _holds(column: ColumnElement[Any], wanted: str) -> ColumnElement[bool]:
    """Ask whether a column holds a text, whatever its case."""
    return column.ilike(_pattern(wanted), escape=_ESCAPE)


def _bare(column: ColumnElement[Any]) -> ColumnElement[Any]:
    """Give a number of a car without blanks and dashes."""
    return func.replace(func.replace(column, " ", "", type_=String), "-", "", type_=String)


def _from(where: ColumnElement[Any], text: ColumnElement[Any]) -> Select[Any]:
    """Begin a query for hits."""
    columns = (entity.c.kind, entity.c.ref, entity.c.subject)
    return select(*columns, where.label("field"), text.label("text"))


def _queries(
    wanted: str, words: Mapping[str, Iterable[str]], kinds: tuple[str, ...]
) -> Iterable[Select[Any]]:
    """Give the queries, the most telling first."""
    mine = entity.c.kind.in_(kinds)
    by_ref = _from(_word("ref"), entity.c.ref).where(mine).order_by(entity.c.kind, entity.c.ref)
    yield by_ref.where(entity.c.ref == wanted)
    yield by_ref.where(_holds(entity.c.ref, wanted))
    if "vehicle" in kinds:
        table = record.metadata.tables["vehicle"]
        bare = wanted.replace(" ", "").replace("-", "") or wanted
        for name in NUMBERS:
            yield _of_table("vehicle", name).where(_holds(_bare(table.c[name]), bare))
    for kind, columns in SEARCHED.items():
        if kind in kinds:
            table = record.metadata.tables[KINDS[kind].table]
            for name in columns:
                yield _of_table(kind, name).where(_holds(table.c[name], wanted))
    yield _of_words(wanted, words, kinds)


def _word(text: str) -> ColumnElement[Any]:
    """Give a text as a column."""
    return literal(text, String)


def _of_table(kind: str, name: str) -> Select[Any]:
    """Begin a query of one column of a kind's own table, in the newest versions."""
    table = record.metadata.tables[KINDS[kind].table]
    return (
        _from(_word(name), table.c[name])
        .join(table, table.c.record_id == entity.c.current)
        .where(entity.c.kind == kind)
        .order_by(entity.c.ref)
    )


def _of_words(
    wanted: str, words: Mapping[str, Iterable[str]], kinds: tuple[str, ...]
) -> Select[Any]:
    """Give the query of free texts, in the newest versions."""
    allowed = or_(
        *(
            (entity.c.kind == kind) & free_text.c.field.in_(tuple(fields))
            for kind, fields in words.items()
            if kind in kinds
        )
    )
    return (
        _from(free_text.c.field, free_text.c.content)
        .join(free_text, free_text.c.record_id == entity.c.current)
        .where(_holds(free_text.c.content, wanted), allowed)
        .order_by(entity.c.kind, entity.c.ref)
    )


def _hit(row: Any, wanted: str) -> Hit:  # noqa: ANN401 - a row of one of the queries
    """Put one hit together, with the text around what was looked for."""
    named = {**NUMBERS, **SEARCHED.get(row.kind, {})}
    where = named.get(row.field, row.field.replace("_", " "))
    flat = " ".join(row.text.split())
    at = max(flat.casefold().find(wanted.casefold()), 0)
    first, last = max(at - _AROUND, 0), at + len(wanted) + _AROUND
    text = f"{'…' if first else ''}{flat[first:last]}{'…' if last < len(flat) else ''}"
    return Hit(row.kind, row.ref, row.subject, where, text)
