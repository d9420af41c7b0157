"""Checking a whole book: database, guards, chains, columns, texts, shares and files.

It proves that the records are whole up to the last head noted outside the book, and no
more; ``against`` compares such noted heads (see ``anchors``).
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, Table, func, select, text

from recondition.book import check_stock, files, guards, projection
from recondition.book.columns import METADATA
from recondition.book.damage import Examined
from recondition.book.engine import Book
from recondition.book.errors import AnotherBook
from recondition.book.kinds import KINDS
from recondition.book.tables import (
    chain_head,
    entity,
    erasure,
    free_text,
    record,
    relation,
    share,
    stored_file,
)
from recondition.ledger import chain

Row = dict[str, Any]
BATCH = 500


def check(book: Book) -> Examined:
    """Look through the whole book in one consistent state of it."""
    examined = Examined()
    with book.reading() as conn:
        _database(conn, examined)
        for guard in guards.missing(conn):
            examined.found(f"the guard {guard.name} is missing or altered", f"table {guard.table}")
        _chains(conn, examined)
        for batch in _batches(conn):
            _records(conn, batch, examined)
        _strays(conn, examined)
        _current(conn, examined)
        check_stock.stock(conn, examined)
        _files(conn, book, examined)
    return examined


def _database(conn: Connection, examined: Examined) -> None:
    """Ask SQLite itself about its pages and foreign keys; PostgreSQL keeps its own."""
    if conn.dialect.name != "sqlite":
        return
    for row in conn.execute(text("PRAGMA integrity_check")):
        if row[0] != "ok":
            examined.found(f"the database reports: {row[0]}", "database file")
    for row in conn.execute(text("PRAGMA foreign_key_check")):
        examined.found(f"row {row[1]} points at a record that is not there", f"table {row[0]}")


def _chains(conn: Connection, examined: Examined) -> None:
    """Walk each subject's records: sequence, previous hash, own hash, and the head."""
    records = chain_head.c.count.label("records")
    query_heads = select(chain_head.c.subject, records, chain_head.c.hash)
    heads = {row.subject: row for row in conn.execute(query_heads)}
    query = select(record).order_by(record.c.subject, record.c.sequence)
    rows = conn.execution_options(stream_results=True).execute(query)
    for subject, members in groupby(rows, key=lambda row: str(row.subject)):
        count, last = _walk(subject, members, examined)
        head = heads.pop(subject, None)
        if head is None:
            examined.found("the chain has no head", subject)
        elif head.records != count:
            examined.found(f"the head says {head.records} records, the chain has {count}", subject)
        elif head.hash != last:
            examined.found("the head is not the hash of the last record", subject)
        examined.counts["chains"] += 1
    for subject in heads:
        examined.found("the chain's records are gone", subject)


def _walk(subject: str, members: Iterator[Any], examined: Examined) -> tuple[int, str]:
    """Follow one chain; give how many records it has and the hash of the last."""
    previous, expected, last = chain.START, 0, chain.START
    for row in members:
        expected += 1
        where = f"{subject}, record {row.sequence}"
        if row.sequence != expected:
            examined.found(f"record {expected} is missing", subject)
            expected = row.sequence
        last = chain.digest(row.canonical)
        if last != row.hash:
            examined.found("the text does not match its hash", where)
        if row.previous != previous:
            examined.found("the record does not follow the one before", where)
        previous = row.hash
        examined.counts["records"] += 1
    return expected, last


def _batches(conn: Connection) -> Iterator[list[Row]]:
    """Give the payloads of the whole book, some hundred at a time."""
    last = ""
    while True:
        query = select(record).where(record.c.id > last).order_by(record.c.id).limit(BATCH)
        rows = [dict(row._mapping) for row in conn.execute(query)]  # noqa: SLF001 - its public name
        if not rows:
            return
        last = rows[-1]["id"]
        yield rows


def _records(conn: Connection, rows: list[Row], examined: Examined) -> None:
    """Compare a batch of records with every row that was laid out from them."""
    payloads: dict[str, Row] = {}
    for row in rows:
        payload = _readable(row["canonical"])
        if payload is None:
            examined.found("the text cannot be read", f"record {row['id']}")
            continue
        payloads[row["id"]] = payload
        expected = projection.record_row(payload, row["canonical"], row["hash"])
        _compare("record", expected, row, examined)
    _projections(conn, payloads, examined)
    _lists(conn, payloads, relation, projection.relation_rows, examined)
    _lists(conn, payloads, share, projection.share_rows, examined)
    _texts(conn, payloads, examined)
    _sums(payloads, examined)


def _readable(canonical: str) -> Row | None:
    """Read a text that may be damaged; None where it is not the text of a record."""
    try:
        payload = chain.read(canonical)
        projection.record_row(payload, canonical, "")
        projection.table_row(payload)
        projection.relation_rows(payload)
        projection.share_rows(payload)
        sum_of_shares(payload)
        dict(payload["texts"])
    except (ValueError, KeyError, TypeError, AttributeError):
        return None
    return payload


def _compare(table: str, expected: Row, found: Row | None, examined: Examined) -> None:
    """Compare one row with what the chain says it holds."""
    where = f"table {table}, record {expected.get('record_id', expected.get('id'))}"
    if found is None:
        examined.found("the row is missing", where)
        return
    wrong = sorted(name for name, value in expected.items() if found.get(name) != value)
    if wrong:
        examined.found(f"{', '.join(wrong)} differ from what the chain says", where)


def _originals(conn: Connection, payloads: dict[str, Row]) -> dict[str, Row]:
    """Read the payloads of lines that some reversals take back."""
    ids = [p["entry"]["reverses"] for p in payloads.values() if projection.is_reversal(p)]
    query = select(record.c.id, record.c.canonical).where(record.c.id.in_(ids))
    return {row.id: chain.read(row.canonical) for row in conn.execute(query)}


def _projections(conn: Connection, payloads: dict[str, Row], examined: Examined) -> None:
    """Compare each record's own row in the table of its kind."""
    originals = _originals(conn, payloads)
    by_table: dict[str, list[Row]] = {}
    for payload in payloads.values():
        original = originals.get(payload["entry"].get("reverses", ""))
        if projection.is_reversal(payload) and original is None:
            examined.found("the line it takes back is not there", f"record {payload['record']}")
            continue
        table, row = projection.table_row(payload, original)
        by_table.setdefault(table.name, []).append(row)
    for name, expected in by_table.items():
        found = _rows_by_record(conn, METADATA.tables[name], [row["record_id"] for row in expected])
        for row in expected:
            rows = found.get(row["record_id"], [])
            _compare(name, row, rows[0] if rows else None, examined)


def _rows_by_record(conn: Connection, table: Table, ids: Sequence[str]) -> dict[str, list[Row]]:
    """Read the rows of some records from a table."""
    found: dict[str, list[Row]] = {}
    query = select(table).where(table.c.record_id.in_(ids))
    for row in conn.execute(query):
        found.setdefault(row.record_id, []).append(dict(row._mapping))  # noqa: SLF001 - public name
    return found


def _lists(
    conn: Connection,
    payloads: dict[str, Row],
    table: Table,
    expected_of: Any,  # noqa: ANN401 - a function of the projection
    examined: Examined,
) -> None:
    """Compare relations or shares with the lists in the payloads."""
    found = _rows_by_record(conn, table, list(payloads))
    for record_id, payload in payloads.items():
        wanted = sorted(map(repr, (sorted(row.items()) for row in expected_of(payload))))
        actual = sorted(map(repr, (sorted(row.items()) for row in found.get(record_id, []))))
        if wanted != actual:
            examined.found(
                "the rows differ from what the chain says",
                f"table {table.name}, record {record_id}",
            )


def _texts(conn: Connection, payloads: dict[str, Row], examined: Examined) -> None:
    """Compare each free text with its commitment; a missing one must be on record as erased."""
    found = _rows_by_record(conn, free_text, list(payloads))
    files_of = _rows_by_record(conn, stored_file, list(payloads))
    query = select(erasure.c.erased, erasure.c.field).where(erasure.c.erased.in_(payloads))
    erased = {(row.erased, row.field) for row in conn.execute(query)}
    for record_id, payload in payloads.items():
        texts = {row["field"]: row for row in found.get(record_id, [])}
        if record_id in files_of:
            texts["file"] = files_of[record_id][0]
        for field, committed in payload["texts"].items():
            where = f"text {field!r} of record {record_id}"
            row = texts.pop(field, None)
            if row is not None and field == "file":
                continue  # its bytes are hashed with the others, below
            if row is not None:
                content = row["content"].encode()
                if chain.commitment(bytes(row["salt"]), content) != committed:
                    examined.found("the text differs from what the chain fixed", where)
                examined.counts["texts"] += 1
            elif (record_id, field) in erased:
                examined.counts["erased texts"] += 1
            else:
                examined.found("the text is gone and no erasure is on record", where)
        for field in texts:
            examined.found("a text the chain does not know", f"text {field!r} of {record_id}")


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


def _sums(payloads: dict[str, Row], examined: Examined) -> None:
    """Hold that the shares of each line add up to the line."""
    for record_id, payload in payloads.items():
        differences = sum_of_shares(payload)
        if differences is None:
            continue
        if any(differences):
            examined.found("the shares do not add up to the line", f"record {record_id}")
        examined.counts["shared lines"] += 1


def _kinds_in(table: str) -> list[str]:
    """List the kinds whose records have a row in a table; side tables serve every kind."""
    own = [kind.name for kind in KINDS.values() if kind.table == table]
    return own or list(KINDS)


def _strays(conn: Connection, examined: Examined) -> None:
    """Find rows that belong to no record of the chain, or stand in another kind's table."""
    for table in METADATA.sorted_tables:
        if "record_id" not in table.columns:
            continue
        query = (
            select(func.count())
            .select_from(table.outerjoin(record, record.c.id == table.c.record_id))
            .where(record.c.id.is_(None) | ~record.c.kind.in_(_kinds_in(table.name)))
        )
        stray = conn.execute(query).scalar() or 0
        if stray:
            examined.found(f"{stray} rows belong to no record of its kind", f"table {table.name}")


def _current(conn: Connection, examined: Examined) -> None:
    """Hold that each entity points at its newest version and carries the ref it was given."""
    newest = (
        select(record.c.entity, func.max(record.c.version).label("version"))
        .group_by(record.c.entity)
        .subquery()
    )
    last = select(record.c.id, record.c.entity, record.c.kind, record.c.subject).join(
        newest, (newest.c.entity == record.c.entity) & (newest.c.version == record.c.version)
    )
    ref = select(free_text.c.record_id, free_text.c.content).where(free_text.c.field == "ref")
    refs = {row.record_id: row.content for row in conn.execute(ref)}
    entities = {row.id: row for row in conn.execute(select(entity))}
    for row in conn.execute(last):
        held = entities.pop(row.entity, None)
        if held is None:
            examined.found("the name of the record is missing", f"entity {row.entity}")
        elif held.current != row.id:
            examined.found("it does not point at its newest version", f"entity {row.entity}")
        elif (held.kind, held.subject) != (row.kind, row.subject):
            examined.found("its kind or chain differs from its record's", f"entity {held.ref}")
        elif refs.get(row.id, held.ref) != held.ref:
            examined.found("its ref differs from what was given", f"entity {held.ref}")
    for stray in entities.values():
        examined.found("it names a record that is not there", f"entity {stray.ref}")


def _files(conn: Connection, book: Book, examined: Examined) -> None:
    """Hash each kept file again and compare it with the chain's commitment."""
    query = select(stored_file, record.c.canonical).join(
        record, record.c.id == stored_file.c.record_id
    )
    for row in conn.execute(query):
        place = files.place_of(book.files, row.sha256)
        where = f"file {row.sha256[:16]}... of record {row.record_id}"
        try:
            content = place.read_bytes()
        except OSError:
            examined.found("the file is missing", where, "Put it back from a backup.")
            continue
        committed = chain.read(row.canonical)["texts"].get("file")
        same = chain.commitment(bytes(row.salt), content) == committed
        if not same or hashlib.sha256(content).hexdigest() != row.sha256:
            examined.found("the file was changed", where, "Put it back from a backup.")
        examined.counts["files"] += 1


def against(book: Book, noted: Sequence[chain.Head]) -> Examined:
    """Compare heads noted outside the book with its chains.

    A chain may have grown since; its record at the noted place must have the noted hash.
    Raises AnotherBook where not one vehicle or product of the heads is in the book.
    """
    examined = Examined()
    with book.reading() as conn:
        known = set(conn.execute(select(chain_head.c.subject)).scalars())
        own = {head.subject for head in noted} - {chain.SHOP}
        if own and not own & known:
            raise AnotherBook
        for head in noted:
            query = select(record.c.hash).where(
                record.c.subject == head.subject, record.c.sequence == head.count
            )
            found = conn.execute(query).scalar()
            examined.counts["noted heads"] += 1
            if found is None:
                examined.found(f"record {head.count} was noted and is gone", head.subject)
            elif found != head.hash:
                examined.found(f"record {head.count} is not the one that was noted", head.subject)
    return examined
