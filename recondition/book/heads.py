"""The heads of the chains that one transaction lengthens, held against other writers."""

from __future__ import annotations

from sqlalchemy import Connection, bindparam, insert, select, update

from recondition.book.again import Turn
from recondition.book.tables import chain_head, record
from recondition.ledger import chain

_HEAD = (
    select(chain_head.c.count, chain_head.c.hash, record.c.recorded_at)
    .outerjoin(
        record,
        (record.c.subject == chain_head.c.subject) & (record.c.sequence == chain_head.c.count),
    )
    .where(chain_head.c.subject == bindparam("wanted"))
    .with_for_update(of=chain_head)
)


class Heads:
    """Heads that were read and locked, and those that have grown since."""

    def __init__(self, conn: Connection, turn: Turn | None) -> None:
        """Work on one connection; ``turn`` is asked for each chain."""
        self._conn = conn
        self._turn = turn
        self._found: dict[str, chain.Head] = {}
        self._last: dict[str, str] = {}
        self._grown: set[str] = set()

    def hold(self, subject: str) -> chain.Head:
        """Give a chain's head, locked against other writers until the transaction ends."""
        if subject not in self._found:
            if self._turn is not None:
                self._turn.take(self._conn, subject)
            row = self._conn.execute(_HEAD, {"wanted": subject}).first()
            self._found[subject] = (
                chain.Head(subject, row.count, row.hash)  # type: ignore[arg-type]
                if row is not None
                else chain.Head(subject, 0, chain.START)
            )
            self._last[subject] = (row.recorded_at or "") if row is not None else ""
        return self._found[subject]

    def last(self, subject: str) -> str:
        """Give when the last record of a chain was made, ISO 8601; '' where there is none."""
        self.hold(subject)
        return self._last[subject]

    def grow(self, payload: chain.Payload, digest: str) -> None:
        """Take a record in that was chained to a head that is held."""
        self._found[payload.subject] = chain.Head(payload.subject, payload.sequence, digest)
        self._last[payload.subject] = payload.recorded_at
        self._grown.add(payload.subject)

    def write(self) -> None:
        """Write the heads that have grown; their records are written already."""
        for head in (self._found[subject] for subject in sorted(self._grown)):
            values = {"count": head.count, "hash": head.hash}
            query = update(chain_head).where(chain_head.c.subject == head.subject).values(values)
            if not self._conn.execute(query).rowcount:
                self._conn.execute(insert(chain_head).values(subject=head.subject, **values))
        self._grown.clear()

    def forget(self) -> None:
        """Read heads anew from now on."""
        self._found.clear()
        self._last.clear()
