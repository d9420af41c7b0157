"""Checking the chains: sequence, hashes, heads and moments, and all that is laid out from them.

Records are read once, chain by chain, some hundred at a time, so that memory does not grow
with the book.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Result, func, select, text

from recondition.book import check_records
from recondition.book.check_closed import Closings
from recondition.book.damage import CLOCK
from recondition.book.looking import Look, Row
from recondition.book.moments import CLOCK_SET_RIGHT, TOLERANCE, is_behind, shown
from recondition.book.tables import chain_head, entity, record, setting
from recondition.ledger import chain

BATCH = 500
DAY = timedelta(days=1)


def chains(look: Look) -> None:
    """Walk every chain, and hold each record against its rows."""
    walker = _Walker(look, _heads(look), _set_right(look), CLOCK.format(_newest(look)))
    closings = Closings.of(look)
    for rows in _batches(look):
        for row in rows:
            walker.step(row)
        for row, said in look.each(
            rows, lambda some, found: check_records.compare(look, some, found, closings)
        ):
            where = f"record {row['id']}"
            look.examined.found(f"it cannot be compared with its rows: {said}", where,
                                record=_text(row["id"]), subject=_text(row["subject"]))  # fmt: skip
    walker.finish()


def _text(value: Any) -> str:  # noqa: ANN401 - a cell of a damaged book
    """Give a cell that should be a text."""
    return value if isinstance(value, str) else ""


def _heads(look: Look) -> dict[str, tuple[Any, Any]]:
    """Read how many records each chain should have, and the hash of the last one."""
    found: dict[str, tuple[Any, Any]] = {}

    def read() -> None:
        columns = (chain_head.c.subject, chain_head.c.count, chain_head.c.hash)
        for subject, count, last in look.conn.execute(select(*columns)):
            found[_text(subject)] = (count, last)

    look.part("the heads of the chains", lambda _: read())
    return found


def _set_right(look: Look) -> str:
    """Read until when entries are said to have been made with a clock that ran ahead."""
    found: list[datetime] = []

    def read() -> None:
        query = (
            select(setting.c.value)
            .join(record, record.c.id == setting.c.record_id)
            .join(entity, entity.c.id == record.c.entity)
            .where(entity.c.ref == CLOCK_SET_RIGHT, entity.c.kind == "setting")
        )
        said = look.conn.execute(query).scalars().all()
        moments = [_moment(value) for value in said]
        found.extend(moment for moment in moments if moment is not None)

    look.part("the settings of the clock", lambda _: read())
    return max(found).isoformat() if found else ""


def _newest(look: Look) -> str:
    """Write the moment of the newest record, as it is to be typed; words where there is none."""
    found: list[datetime] = []

    def read() -> None:
        moment = _moment(look.conn.execute(select(func.max(record.c.recorded_at))).scalar())
        found.extend([moment] if moment is not None else [])

    look.part("the newest moment", lambda _: read())
    return shown(found[0].isoformat()) if found else "and that moment"


def _moment(value: Any) -> datetime | None:  # noqa: ANN401 - a cell of a damaged book
    """Read a moment with its zone; None where it is none."""
    try:
        found = datetime.fromisoformat(value)
        found.astimezone(UTC) - DAY, found.astimezone(UTC) + DAY  # near the ends of time: none
        return found if found.utcoffset() is not None else None
    except (ValueError, TypeError, OverflowError):
        return None


def _batches(look: Look) -> Iterator[list[Row]]:
    """Give the records of the whole book by chain and sequence, some hundred at a time."""
    waiting: list[Row] = []
    for row in _records(look):
        waiting.append(row)
        if len(waiting) == BATCH:
            yield waiting
            waiting = []
    yield waiting


def _records(look: Look) -> Iterator[Row]:
    """Give all records in order; where the file is broken on the way, each that can be read."""
    read = 0
    query = select(record).order_by(record.c.subject, record.c.sequence)
    with look.stream(query) as stream:
        while True:
            fetched: list[Row] = []
            said = look.attempt(lambda into=fetched: _fetch(stream, into))  # type: ignore[misc]
            if said:
                look.examined.found(f"not every record can be read: {said}", "table record")
                break
            if not fetched:
                return
            read += len(fetched)
            yield from fetched
    if look.sqlite:
        yield from _one_by_one(look, read)


def _fetch(stream: Result[Any], into: list[Row]) -> None:
    """Read the next rows."""
    into.extend(dict(row._mapping) for row in stream.fetchmany(BATCH))  # noqa: SLF001 - public name


def _one_by_one(look: Look, read: int) -> Iterator[Row]:
    """Give the records of a broken file that are still readable, past those read already."""
    places: list[int] = []
    query = text("SELECT rowid FROM record ORDER BY subject, sequence LIMIT -1 OFFSET :read")
    look.attempt(lambda: places.extend(look.conn.execute(query, {"read": read}).scalars()))
    one = select(record).where(text("record.rowid = :place"))
    for place in places:
        found: list[Row] = []
        said = look.attempt(
            lambda into=found, at=place: into.extend(  # type: ignore[misc]
                dict(row) for row in look.conn.execute(one, {"place": at}).mappings()
            )
        )
        if said:
            look.examined.found(f"a record cannot be read: {said}", f"table record, row {place}")
        yield from found


@dataclass(slots=True)
class _Walker:
    """Follows one chain after another."""

    look: Look
    heads: dict[str, tuple[Any, Any]]
    set_right: str
    clock: str
    subject: str | None = None
    count: int = 0
    previous: str = chain.START
    last: str = chain.START
    moment: str = ""

    def step(self, row: Row) -> None:
        """Take the next record, of this chain or the next one."""
        subject = _text(row["subject"])
        if subject != self.subject:
            self.end()
            self.subject, self.count, self.moment = subject, 0, ""
            self.previous = self.last = chain.START
        self.count += 1
        self._in_its_place(row, subject)
        self._hashes(row)
        self._at_its_time(row)
        self.look.examined.counts["records"] += 1

    def _found(self, row: Row, what: str, todo: str = "") -> None:
        """Note damage to one record."""
        subject = self.subject or ""
        where = f"{subject}, record {row['sequence']}"
        self.look.examined.found(what, where, todo, record=_text(row["id"]), subject=subject)

    def _in_its_place(self, row: Row, subject: str) -> None:
        """Hold that no record is missing before this one."""
        if row["sequence"] == self.count:
            return
        words = f"record {self.count} is missing"
        if not isinstance(row["sequence"], int):
            words = "its place in the chain is no number"
        elif row["sequence"] < self.count:
            words = f"it stands where record {self.count} should be"
        self.look.examined.found(words, subject, record=_text(row["id"]), subject=subject)
        self.count = row["sequence"] if isinstance(row["sequence"], int) else self.count

    def _hashes(self, row: Row) -> None:
        """Hold a record's hash against its text, and its link against the record before."""
        self.last = _digest(row["canonical"])
        if self.last != row["hash"]:
            self._found(row, "the text does not match its hash")
        if row["previous"] != self.previous:
            self._found(row, "the record does not follow the one before")
        self.previous = row["hash"]

    def _at_its_time(self, row: Row) -> None:
        """Hold that the moment of recording can be, and does not go back within the chain."""
        moment = _moment(row["recorded_at"])
        if moment is None:
            self._found(row, f"it was recorded at no moment with a zone: {row['recorded_at']}")
            return
        at = str(row["recorded_at"])
        declared = bool(self.set_right) and moment <= datetime.fromisoformat(self.set_right)
        if moment > self.look.now + TOLERANCE and not declared:
            self._found(row, f"it was recorded in the future, at {at}", self.clock)
        # The setting that declares a wrong clock is itself made after the clock was set right.
        if self.moment and row["kind"] != "setting" and is_behind(self.moment, at, self.set_right):
            self._found(
                row, f"it was recorded at {at}, before the record that it follows", self.clock
            )
        self.moment = at

    def end(self) -> None:
        """Hold the chain that ends here against its head."""
        if self.subject is None:
            return
        examined, subject = self.look.examined, self.subject
        count, last = self.heads.pop(subject, (None, None))
        words = ""
        if count is None:
            words = "the chain has no head"
        elif count != self.count:
            words = f"the head says {count} records, the chain has {self.count}"
        elif last != self.last:
            words = "the head is not the hash of the last record"
        if words:
            examined.found(words, subject, subject=subject)
        examined.counts["chains"] += 1

    def finish(self) -> None:
        """End the last chain, and name heads without a chain."""
        self.end()
        for subject in self.heads:
            self.look.examined.found("the chain's records are gone", subject, subject=subject)


def _digest(canonical: Any) -> str:  # noqa: ANN401 - a cell of a damaged book
    """Give the hash of a record's text; '' where it is no text."""
    try:
        return chain.digest(canonical)
    except (AttributeError, UnicodeEncodeError):
        return ""
