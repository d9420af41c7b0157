"""What is new: how long a chain is, what was put into it since, and what some refs name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, func, select

from recondition.book import reading
from recondition.book.booking import BOOKED
from recondition.book.kinds import KINDS
from recondition.book.tables import chain_head, entity, line, record
from recondition.ledger import chain
from recondition.ledger.chain import SHOP

STOCK = "stock"
"""The chains of all products together."""
_MANY = 900
_BOOKED = tuple(kind.name for kind in KINDS.values() if kind.entry in BOOKED)


@dataclass(frozen=True, slots=True)
class Entered:
    """One record that came in: its kind, the user's name for it, its version, who made it (ref).

    A movement of stock is given as what moved it.
    """

    kind: str
    ref: str
    version: int
    author: str


def subject_of(conn: Connection, name: str) -> str:
    """Give the chain that a page is about.

    ``name`` is the stock number of a vehicle, ``product:`` and a ref, ``shop``, or ``stock`` for
    all products. Raises NotThere.
    """
    if name in (SHOP, STOCK):
        return name
    kind, mark, ref = name.partition(":")
    if mark and kind == "product":
        return f"product:{reading.id_of(conn, 'product', ref)}"
    return f"vehicle:{reading.id_of(conn, 'vehicle', name)}"


def length_of(conn: Connection, subject: str) -> int:
    """Count the records of a chain; of all products together for ``stock``."""
    query = select(func.coalesce(func.sum(chain_head.c.count), 0))
    if subject == STOCK:
        query = query.where(chain_head.c.subject.like("product:%"))
    else:
        query = query.where(chain_head.c.subject == subject)
    return int(conn.execute(query).scalar_one())


def since(conn: Connection, subject: str, known: int, limit: int) -> list[Entered]:
    """Give the last ``limit`` records of a chain after the first ``known``, in their order.

    Of all products together it is not told which came when: nothing is given.
    """
    if subject == STOCK:
        return []
    who = reading.refs_by_id(conn, ("person",))
    query = (
        select(record.c.kind, record.c.version, record.c.author, entity.c.ref)
        .join(entity, entity.c.id == record.c.entity)
        .where(record.c.subject == subject, record.c.sequence > known)
        .order_by(record.c.sequence.desc())
        .limit(limit)
    )
    found = []
    for row in reversed(conn.execute(query).all()):
        moved = row.kind == "movement"
        kind, _, ref = row.ref.partition(":") if moved else (row.kind, "", row.ref)
        found.append(Entered(kind, ref, row.version, who.get(row.author, "somebody")))
    return found


def kinds_of(
    conn: Connection, refs: Iterable[str], kinds: Sequence[str]
) -> dict[str, list[str]]:  # fmt: skip
    """Say of which of ``kinds`` each of some refs is, in their order: kinds may share a ref."""
    wanted, found = sorted(set(refs)), dict[str, list[str]]()
    for start in range(0, len(wanted), _MANY):
        query = select(entity.c.kind, entity.c.ref).where(
            entity.c.ref.in_(wanted[start : start + _MANY]), entity.c.kind.in_(kinds)
        )
        for row in sorted(conn.execute(query), key=lambda row: kinds.index(row.kind)):
            found.setdefault(row.ref, []).append(row.kind)
    return found


def months_booked(conn: Connection) -> set[str]:
    """Give the periods that anything is booked in: lines, and what else the journal takes."""
    kept = select(record.c.canonical).where(record.c.kind.in_(_BOOKED))
    booked = {chain.read(each)["priced"].get("period") for each in conn.execute(kept).scalars()}
    return {*conn.execute(select(line.c.period).distinct()).scalars(), *booked} - {None}
