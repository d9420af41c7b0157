"""Checking records against every row that was laid out from them, some hundred at a time."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Table, select

from recondition.book import projection
from recondition.book.check_closed import Closings
from recondition.book.columns import METADATA
from recondition.book.damage import ASK, FROM_CHAIN, Examined
from recondition.book.kinds import KINDS, LINE_KINDS
from recondition.book.looking import Look, Row
from recondition.book.tables import erasure, free_text, record, relation, share, stored_file
from recondition.ledger import chain
from recondition.ledger.booked import Booked
from recondition.ledger.clocks import instant
from recondition.ledger.codec import decode_fields
from recondition.ledger.pricing import Priced

_TEXT_BACK = (
    "The words cannot be had from the chain, which holds only their salted hash. Take them from a "
    "backup, or enter what is missing as a new entry."
)


@dataclass(frozen=True, slots=True)
class _Some:
    """Some records with their payloads, and where to note what is damaged in them."""

    look: Look
    found: Examined
    payloads: dict[str, Row]
    subjects: dict[str, str]

    def damage(self, what: str, where: str, todo: str, record_id: str) -> None:
        """Note damage to one record."""
        subject = self.subjects.get(record_id, "")
        self.found.found(what, where, todo, record=record_id, subject=subject)


def compare(look: Look, rows: Sequence[Row], found: Examined, closings: Closings) -> None:
    """Compare records with every row that was laid out from them."""
    some = _Some(look, found, {}, {row["id"]: row["subject"] for row in rows})
    for row in rows:
        payload = _readable(row["canonical"])
        if payload is None:
            some.damage("the text cannot be read", f"record {row['id']}", "", row["id"])
            continue
        some.payloads[row["id"]] = payload
        expected = projection.record_row(payload, row["canonical"], row["hash"])
        _compare(some, "record", expected, row)
        _can_be(some, row["id"], payload)
        late = closings.too_late(payload)
        if late is not None:
            words = f"it was booked in {late}, which was closed by then"
            some.damage(words, f"record {row['id']}", ASK, row["id"])
    _projections(some)
    _lists(some, relation, projection.relation_rows)
    _lists(some, share, projection.share_rows)
    _texts(some)
    _sums(some)


def _readable(canonical: Any) -> Row | None:  # noqa: ANN401 - a cell of a damaged book
    """Read a text that may be damaged; None where it is not the text of a record."""
    if not isinstance(canonical, str):
        return None
    try:
        payload = chain.read(canonical)
        projection.record_row(payload, canonical, "")
        projection.table_row(payload)
        projection.relation_rows(payload)
        projection.share_rows(payload)
        sum_of_shares(payload)
        dict(payload["texts"])
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
    return payload


def _can_be(some: _Some, record_id: str, payload: Row) -> None:
    """Hold that days, moments, numbers and words of a record are such at all."""
    entry, priced = payload["entry"], payload["priced"]
    try:
        decode_fields(KINDS[payload["kind"]].entry, entry, {})
        if priced:
            of: type[Any] = Priced if payload["kind"] in LINE_KINDS else Booked
            decode_fields(of, priced, {})
        for moment in _moments(entry):
            instant(moment)
    except Exception as error:  # noqa: BLE001 - each type of field says no in its own way
        words = f"what it says cannot be: {error}"
        some.damage(words, f"record {record_id}", ASK, record_id)


def _moments(entry: Any) -> Iterator[str]:  # noqa: ANN401 - any part of an entry
    """Give every moment that an entry names."""
    if isinstance(entry, dict):
        for name, value in entry.items():
            if isinstance(value, str) and (name == "at" or name.endswith("_at")):
                yield value
            yield from _moments(value)
    elif isinstance(entry, list):
        for value in entry:
            yield from _moments(value)


def _compare(some: _Some, table: str, expected: Row, found: Row | None) -> None:
    """Compare one row with what the chain says it holds."""
    record_id = expected.get("record_id", expected.get("id"))
    where = f"table {table}, record {record_id}"
    if found is None:
        some.damage("the row is missing", where, FROM_CHAIN, str(record_id))
        return
    wrong = sorted(name for name, value in expected.items() if not _same(found.get(name), value))
    if wrong:
        some.damage(_differing(wrong, expected, found), where, FROM_CHAIN, str(record_id))


def _differing(wrong: list[str], expected: Row, found: Row) -> str:
    """Say which columns differ; of amounts, in minor units, also what they are and should be."""
    words = [
        f"{name} is {found.get(name)} here, {expected[name]} in its chain"
        for name in wrong
        if name.endswith("_minor")
    ]
    others = [name for name in wrong if not name.endswith("_minor")]
    if others:
        words.append(f"{', '.join(others)} differ from what the chain says")
    return "; ".join(words)


def _same(found: Any, expected: Any) -> bool:  # noqa: ANN401 - cells of any type
    """Tell whether a cell holds what it must, in the type it must have."""
    return type(found) is type(expected) and found == expected


def _originals(some: _Some) -> dict[str, Row]:
    """Read the payloads of lines that some reversals take back."""
    payloads = some.payloads.values()
    ids = [p["entry"]["reverses"] for p in payloads if projection.is_reversal(p)]
    if not ids:
        return {}
    query = select(record.c.id, record.c.canonical).where(record.c.id.in_(ids))
    read = {row.id: _readable(row.canonical) for row in some.look.conn.execute(query)}
    return {record_id: payload for record_id, payload in read.items() if payload is not None}


def _projections(some: _Some) -> None:
    """Compare each record's own row in the table of its kind."""
    originals = _originals(some)
    by_table: dict[str, list[Row]] = {}
    for record_id, payload in some.payloads.items():
        original = originals.get(payload["entry"].get("reverses", ""))
        if projection.is_reversal(payload) and original is None:
            words = "the line it takes back is not there"
            some.damage(words, f"record {record_id}", "", record_id)
            continue
        table, row = projection.table_row(payload, original)
        by_table.setdefault(table.name, []).append(row)
    for name, expected in by_table.items():
        said = some.look.attempt(lambda at=name, rows=expected: _rows_of(some, at, rows))  # type: ignore[misc]
        if said:
            _row_by_row(some, name, expected, said)


def _rows_of(some: _Some, name: str, expected: list[Row]) -> None:
    """Compare rows of one table."""
    ids = [row["record_id"] for row in expected]
    found = _rows_by_record(some, METADATA.tables[name], ids)
    for row in expected:
        rows = found.get(row["record_id"], [])
        _compare(some, name, row, rows[0] if rows else None)


def _row_by_row(some: _Some, name: str, expected: list[Row], said: str) -> None:
    """Compare rows of a table one by one, where not all of them can be read together."""
    if len(expected) == 1:
        record_id = expected[0]["record_id"]
        words = f"the row cannot be read: {said}"
        some.damage(words, f"table {name}, record {record_id}", FROM_CHAIN, record_id)
        return
    for row in expected:
        again = some.look.attempt(lambda one=row: _rows_of(some, name, [one]))  # type: ignore[misc]
        if again:
            _row_by_row(some, name, [row], again)


def _rows_by_record(some: _Some, table: Table, ids: Sequence[str]) -> dict[str, list[Row]]:
    """Read the rows of some records from a table."""
    found: dict[str, list[Row]] = {}
    query = select(table).where(table.c.record_id.in_(ids))
    for row in some.look.conn.execute(query).mappings():
        found.setdefault(row["record_id"], []).append(dict(row))
    return found


def _lists(some: _Some, table: Table, expected_of: Callable[[Row], list[Row]]) -> None:
    """Compare relations or shares with the lists in the payloads."""
    found = _rows_by_record(some, table, list(some.payloads))
    for record_id, payload in some.payloads.items():
        wanted = sorted(map(repr, (sorted(row.items()) for row in expected_of(payload))))
        actual = sorted(map(repr, (sorted(row.items()) for row in found.get(record_id, []))))
        if wanted != actual:
            where = f"table {table.name}, record {record_id}"
            some.damage("the rows differ from what the chain says", where, FROM_CHAIN, record_id)


def _texts(some: _Some) -> None:
    """Compare each free text with its commitment; a missing one must be on record as erased."""
    found = _rows_by_record(some, free_text, list(some.payloads))
    files_of = _rows_by_record(some, stored_file, list(some.payloads))
    query = (
        select(erasure.c.erased, erasure.c.field)
        .join(record, record.c.id == erasure.c.record_id)
        .where(erasure.c.erased.in_(some.payloads), record.c.kind == "erasure")
    )
    erased = {(row.erased, row.field) for row in some.look.conn.execute(query)}
    for record_id, payload in some.payloads.items():
        texts = {row["field"]: row for row in found.get(record_id, [])}
        if record_id in files_of:
            texts["file"] = files_of[record_id][0]
        for field, committed in payload["texts"].items():
            row = texts.pop(field, None)
            _text(some, record_id, field, row=row, committed=committed, erased=erased)
        for field in texts:
            where = f"text {field!r} of {record_id}"
            some.damage("a text the chain does not know", where, "", record_id)


def _text(  # noqa: PLR0913 - what is there, what should be, and whether it may be gone
    some: _Some, record_id: str, field: str, *, row: Row | None, committed: str,
    erased: set[tuple[str, str]],
) -> None:  # fmt: skip
    """Compare one text with its commitment."""
    where = f"text {field!r} of record {record_id}"
    if row is not None and (record_id, field) in erased:
        words = "it was erased and is there again"
        some.damage(words, where, _TEXT_BACK, record_id)
    if row is not None and field == "file":
        return  # its bytes are hashed with the other files
    if row is not None:
        if _committed(row["salt"], row["content"]) != committed:
            words = "the text differs from what the chain fixed"
            some.damage(words, where, _TEXT_BACK, record_id)
        some.found.counts["texts"] += 1
    elif (record_id, field) in erased:
        some.found.counts["erased texts"] += 1
    else:
        words = "the text is gone and no erasure is on record"
        some.damage(words, where, _TEXT_BACK, record_id)


def _committed(salt: Any, content: Any) -> str:  # noqa: ANN401 - cells of a damaged book
    """Give what a text and its salt are fixed by; '' where they are none."""
    try:
        return chain.commitment(bytes(salt), content.encode())
    except (TypeError, AttributeError, ValueError):
        return ""


def sum_of_shares(payload: Row) -> list[int] | None:
    """Give by how many minor units the shares miss a line's cost and its billed amount.

    None for a record without shares.
    """
    priced = payload["priced"]
    shares = priced.get("shares", [])
    if not shares:
        return None
    return [
        sum(int(part[name]["minor"]) for part in shares) - int(priced[name]["minor"])
        for name in ("cost", "billed")
        if name in priced
    ]


def _sums(some: _Some) -> None:
    """Hold that the shares of each line add up to the line."""
    for record_id, payload in some.payloads.items():
        differences = sum_of_shares(payload)
        if differences is None:
            continue
        if any(differences):
            words = "the shares do not add up to the line"
            some.damage(words, f"record {record_id}", ASK, record_id)
        some.found.counts["shared lines"] += 1
