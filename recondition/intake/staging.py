"""The staging file: rows of an import wait here until every ref is known.

A temporary SQLite file beside the system's other temporary files, so that memory stays
bounded; it is removed when the import ends, well or badly.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import tempfile
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from recondition.intake.rows import Row
    from recondition.intake.spec import Sheet

BATCH = 500
REMEMBERED_MAX = 20_000
OK, BAD, HELD = "ok", "bad", "held"

# What is kept of the file in memory.
CACHE_KIB = 32 * 1024
_TABLES = """
CREATE TABLE row (
    id INTEGER PRIMARY KEY, kind TEXT, number INTEGER, ref TEXT, given INTEGER,
    uid TEXT, vehicle TEXT, content TEXT, digest BLOB, state TEXT, in_book INTEGER DEFAULT 0
);
CREATE TABLE need (row INTEGER, kind TEXT, ref TEXT, field TEXT);
CREATE TABLE seen (kind TEXT, digest TEXT, times INTEGER, PRIMARY KEY (kind, digest));
CREATE TABLE known (kind TEXT, ref TEXT, uid TEXT, PRIMARY KEY (kind, ref));
"""
_INDEXES = """
CREATE INDEX row_ref ON row (kind, ref);
CREATE INDEX row_vehicle ON row (vehicle, id);
CREATE INDEX row_order ON row (kind, in_book, id);
CREATE INDEX row_digest ON row (kind, digest);
CREATE INDEX need_ref ON need (kind, ref);
CREATE INDEX need_row ON need (row);
"""


_KNOWN = (
    "EXISTS (SELECT 1 FROM row v WHERE v.kind = 'vehicle' AND v.ref = {0}.vehicle "
    "UNION SELECT 1 FROM known k WHERE k.kind = 'vehicle' AND k.ref = {0}.vehicle)"
)


@dataclass(frozen=True, slots=True)
class Staged:
    """A row that waits: where it stands, its ref, id, content, and whether it has a fault."""

    id: int
    kind: str
    number: int
    ref: str
    given: bool
    uid: str
    vehicle: str
    content: dict[str, Any]
    in_book: bool


@dataclass(frozen=True, slots=True)
class Loose:
    """A ref that leads nowhere, or to a row of another vehicle: where it stands."""

    kind: str
    number: int
    field: str
    target: str
    ref: str


class Staging:
    """Rows, what they need, and what the book has of it."""

    def __init__(self, path: Path, new_id: Callable[[], str]) -> None:
        """Make the file; ``new_id`` gives a fresh random id each time."""
        self._db = sqlite3.connect(path, isolation_level=None)
        # Nothing of it outlives the import.
        settings = (
            f"PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; PRAGMA cache_size=-{CACHE_KIB};"
        )
        self._db.executescript(settings + _TABLES)
        self._db.execute("BEGIN")
        self._new_id = new_id
        self._ids: dict[tuple[str, str], str] = {}

    def close(self) -> None:
        """Let go of the file."""
        self._db.close()

    def add(self, sheet: Sheet, number: int, row: Row) -> None:
        """Put a parsed row into the file, a faulty one too, since others may name it."""
        content = json.dumps(
            {"plain": row.plain, "words": row.words, "file": row.file}, sort_keys=True
        )
        digest = hashlib.sha256(content.encode()).digest()
        state = BAD if row.faults else OK
        values = (sheet.kind, number, row.ref, bool(row.ref), self._new_id(), row.vehicle,
                  content, digest, state)  # fmt: skip
        query = (
            "INSERT INTO row (kind, number, ref, given, uid, vehicle, content, digest, state) "
            "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)"
        )
        row_id = self._db.execute(query, values).lastrowid
        needs = [(row_id, need.kind, need.ref, need.field) for need in row.needs]
        self._db.executemany("INSERT INTO need VALUES (?, ?, ?, ?)", needs)

    def index(self) -> None:
        """Make the look-ups quick, once every row is in."""
        self._db.executescript(_INDEXES)
        self._db.execute("BEGIN")

    def repeated(self) -> Iterator[tuple[str, int, str, int]]:
        """Give kind, row and ref of rows whose ref stood before, with that earlier row."""
        query = (
            "SELECT r.kind, r.number, r.ref, "
            "(SELECT f.number FROM row f WHERE f.id = first.id) FROM row r JOIN "
            "(SELECT kind, ref, min(id) AS id FROM row WHERE given GROUP BY kind, ref "
            "HAVING count(*) > 1) first USING (kind, ref) WHERE r.id > first.id ORDER BY r.id"
        )
        yield from self._db.execute(query)

    def refuse_repeated(self) -> None:
        """Mark every repetition of a ref as bad."""
        self._db.execute(
            "UPDATE row SET state = ? WHERE given AND id > "
            "(SELECT min(id) FROM row f WHERE f.kind = row.kind AND f.ref = row.ref)",
            (BAD,),
        )

    def asked(self) -> Iterator[tuple[str, list[str]]]:
        """Give every kind with the refs that are looked for in the book, in batches."""
        query = (
            "SELECT kind, ref FROM row WHERE given UNION SELECT kind, ref FROM need "
            "ORDER BY kind, ref"
        )
        cursor = self._db.execute(query)
        batch: list[str] = []
        kind = ""
        for found, ref in cursor:
            if found != kind or len(batch) == BATCH:
                if batch:
                    yield kind, batch
                kind, batch = found, []
            batch.append(ref)
        if batch:
            yield kind, batch

    def know(self, kind: str, ids: dict[str, str]) -> None:
        """Note what the book has under some refs of a kind."""
        rows = [(kind, ref, uid) for ref, uid in ids.items()]
        self._db.executemany("INSERT OR REPLACE INTO known VALUES (?, ?, ?)", rows)

    def mark_known(self) -> None:
        """Give rows that the book has already the book's id."""
        self._db.execute(
            "UPDATE row SET in_book = 1, uid = (SELECT uid FROM known k WHERE k.kind = row.kind "
            "AND k.ref = row.ref) WHERE given AND EXISTS (SELECT 1 FROM known k "
            "WHERE k.kind = row.kind AND k.ref = row.ref)"
        )

    def know_lines(self, kinds: Iterable[str]) -> None:
        """Note which rows of this import a ref of a line may mean: ``L-019`` or ``labour:L-019``.

        One that several kinds share without being told apart is left unknown.
        """
        named = ", ".join(f"'{kind}'" for kind in kinds)
        self._db.execute(
            "INSERT OR IGNORE INTO known SELECT 'line', n.ref, min(r.uid) "  # noqa: S608 - the parts of the query are our own
            "FROM (SELECT DISTINCT ref FROM need WHERE kind = 'line') n "
            "JOIN row r ON r.given AND (r.ref = n.ref OR r.kind || ':' || r.ref = n.ref) "
            f"WHERE r.kind IN ({named}) GROUP BY n.ref HAVING count(*) = 1"
        )

    def unresolved(self) -> Iterator[Loose]:
        """List, then mark, the rows that name something neither here nor in the book."""
        loose = (
            "NOT EXISTS (SELECT 1 FROM row t WHERE t.kind = n.kind AND t.ref = n.ref AND t.given) "
            "AND NOT EXISTS (SELECT 1 FROM known k WHERE k.kind = n.kind AND k.ref = n.ref)"
        )
        return self._loose("", loose)

    def astray(self) -> Iterator[Loose]:
        """List, then mark, the rows that name a row of another vehicle."""
        join = "JOIN row t ON t.kind = n.kind AND t.ref = n.ref"
        return self._loose(
            join,
            "t.vehicle <> '' AND r.vehicle <> '' AND t.vehicle <> r.vehicle "
            f"AND n.kind <> 'document' AND {_KNOWN.format('t')} AND {_KNOWN.format('r')}",
        )

    def _loose(self, join: str, where: str) -> Iterator[Loose]:
        """List the needs that a condition finds; after the last one their rows are marked bad."""
        source = f"FROM need n JOIN row r ON r.id = n.row {join} WHERE {where}"
        query = f"SELECT r.kind, r.number, n.field, n.kind, n.ref {source} ORDER BY r.id"
        for row in self._db.execute(query):
            yield Loose(*row)
        mark = f"UPDATE row SET state = ? WHERE id IN (SELECT n.row {source})"  # noqa: S608 - the parts of the query are our own
        self._db.execute(mark, (BAD,))

    def hold(self) -> None:
        """Keep back every row that leans on one with a fault, and those that lean on it."""
        query = (
            "UPDATE row SET state = ? WHERE state = ? AND id IN (SELECT n.row FROM need n "
            "JOIN row t ON t.kind = n.kind AND t.ref = n.ref AND NOT t.in_book "
            "WHERE t.state <> ?)"
        )
        while self._db.execute(query, (HELD, OK, OK)).rowcount:
            pass

    def refuse(self, row_ids: Iterable[int]) -> None:
        """Mark rows that the book refused, and hold those that lean on them."""
        query = (
            "UPDATE row SET state = ? WHERE state = ? AND id IN (SELECT n.row FROM row t "
            "JOIN need n ON n.kind = t.kind AND n.ref = t.ref WHERE t.id = ? AND NOT t.in_book) "
            "RETURNING id"
        )
        found = list(row_ids)
        self._db.executemany("UPDATE row SET state = ? WHERE id = ?", [(BAD, i) for i in found])
        while found:
            leaning = self._db.execute(query, (HELD, OK, found.pop())).fetchall()
            found += [row_id for (row_id,) in leaning]

    def refs(self, kind: str) -> list[str]:
        """List the refs that rows of a kind have here."""
        query = "SELECT ref FROM row WHERE given AND kind = ? ORDER BY id"
        return [ref for (ref,) in self._db.execute(query, (kind,))]

    def id_of(self, kind: str, ref: str) -> str:
        """Give the id behind a ref: the book's own if it has one, else the new one.

        Rows beside one another name the same few, which are remembered. Ids hold once rows are
        indexed and what the book has of them is known.
        """
        if (kind, ref) not in self._ids:
            if len(self._ids) >= REMEMBERED_MAX:
                self._ids.clear()
            self._ids[kind, ref] = self._looked_up(kind, ref)
        return self._ids[kind, ref]

    def _looked_up(self, kind: str, ref: str) -> str:
        """Look an id up. Raises KeyError."""
        for table in ("known", "row"):
            query = f"SELECT uid FROM {table} WHERE kind = ? AND ref = ? LIMIT 1"  # noqa: S608 - the parts of the query are our own
            found = self._db.execute(query, (kind, ref)).fetchone()
            if found is not None:
                return str(found[0])
        raise KeyError((kind, ref))

    def by_vehicle(self, *kinds: str) -> Iterator[Staged]:
        """Give the rows of some kinds that can be posted, one vehicle after another."""
        marks = ", ".join("?" * len(kinds))
        query = (
            f"SELECT id, kind, number, ref, given, uid, vehicle, content, in_book FROM row "  # noqa: S608 - the parts of the query are our own
            f"WHERE kind IN ({marks}) AND state = ? ORDER BY vehicle, id"
        )
        yield from map(_staged, self._db.execute(query, (*kinds, OK)))

    def entered_twice(self, kind: str) -> Iterator[tuple[str, str]]:
        """Give new rows with the content of another row: the earlier ref, or that of the book."""
        query = (
            "SELECT (SELECT o.ref FROM row o WHERE o.kind = r.kind AND o.digest = r.digest "
            "AND o.given AND o.state = ? AND o.id <> r.id AND (o.in_book OR o.id < r.id) "
            "ORDER BY o.id LIMIT 1) AS other, r.ref FROM row r "
            "WHERE r.kind = ? AND r.given AND r.state = ? AND NOT r.in_book "
            "AND other IS NOT NULL ORDER BY r.id"
        )
        yield from self._db.execute(query, (OK, kind, OK))

    def postable(self) -> int:
        """Count the rows that can be posted."""
        query = "SELECT count(*) FROM row WHERE state = ?"
        return int(self._db.execute(query, (OK,)).fetchone()[0])

    def ordinal(self, kind: str, digest: str) -> int:
        """Count the rows of equal content up to this one: 1 for the first."""
        query = (
            "INSERT INTO seen VALUES (?, ?, 1) "
            "ON CONFLICT (kind, digest) DO UPDATE SET times = times + 1 RETURNING times"
        )
        return int(self._db.execute(query, (kind, digest)).fetchone()[0])

    def without_ref(self) -> dict[str, int]:
        """Count the rows without a ref, by kind."""
        query = "SELECT kind, count(*) FROM row WHERE NOT given GROUP BY kind"
        return dict(self._db.execute(query))

    def chunks(self, kind: str, size: int) -> Iterator[list[Staged]]:
        """Give the rows of a kind that can be posted, new ones first, by vehicle, in chunks.

        A chunk never ends inside one vehicle's new rows of a sheet whose rows may name each
        other: all that a row names is then in the book before it, or in its own chunk.
        """
        order = "vehicle, id" if kind == "candidate" else "id"
        query = (
            "SELECT id, kind, number, ref, given, uid, vehicle, content, in_book FROM row "  # noqa: S608 - the parts of the query are our own
            f"WHERE kind = ? AND state = ? ORDER BY in_book, {order}"
        )
        batch: list[Staged] = []
        for found in self._db.execute(query, (kind, OK)):
            row = _staged(found)
            whole = kind != "candidate" or not batch or batch[-1].vehicle != row.vehicle
            if len(batch) >= size and whole:
                yield batch
                batch = []
            batch.append(row)
        if batch:
            yield batch


def _staged(found: tuple[Any, ...]) -> Staged:
    """Read one row of the staging file."""
    row_id, kind, number, ref, given, uid, vehicle, content, in_book = found
    return Staged(
        id=row_id,
        kind=kind,
        number=number,
        ref=ref,
        given=bool(given),
        uid=uid,
        vehicle=vehicle,
        content=json.loads(content),
        in_book=bool(in_book),
    )


@contextmanager
def staging(new_id: Callable[[], str]) -> Iterator[Staging]:
    """Give a staging file that is removed afterwards."""
    with tempfile.TemporaryDirectory(prefix="recondition-") as folder:
        held = Staging(Path(folder) / "staging.sqlite", new_id)
        try:
            yield held
        finally:
            held.close()
