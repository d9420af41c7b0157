"""A restore tried out: the backup is laid out, checked, counted, compared, and taken away again."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, select

from recondition.book import reading
from recondition.book.backup import NoBackup, opened
from recondition.book.check import against
from recondition.book.copying import kept_hashes, not_copied
from recondition.book.damage import Damage
from recondition.book.engine import Book
from recondition.book.errors import AnotherBook
from recondition.book.packing import BadBackup, LaidOut, looked_through
from recondition.book.sealing import Ask, passphrase_given
from recondition.book.tables import entity, record
from recondition.book.workplace import workplace
from recondition.errors import Refused
from recondition.ledger.chain import SHOP, Head

LACKING = (
    "Is --book the book that you work in, or an earlier copy? If something was lost in it, restore "
    "the backup beside it and compare the two."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rehearsal:
    """What a restore would bring back, how long it took, and what it would lose.

    ``newer`` is how many records the book in use has beyond the backup; ``parted`` says where the
    two have another history, ``lacking`` which chains of the backup are longer than the book's.
    Where no book could be compared, ``not_compared`` says why.
    """

    made_at: str = ""
    schema: str = ""
    records: int = 0
    chains: int = 0
    files: int = 0
    seconds: float = 0.0
    damages: tuple[Damage, ...] = ()
    newer: int | None = None
    parted: tuple[Damage, ...] = ()
    lacking: tuple[Damage, ...] = ()
    not_compared: str = ""


@dataclass(frozen=True, slots=True)
class _Comparison:
    """What is said of the book in use beside the backup; see ``Rehearsal``."""

    newer: int | None = None
    parted: tuple[Damage, ...] = ()
    lacking: tuple[Damage, ...] = ()
    not_compared: str = ""


def rehearse(
    packed: Path, in_use: Callable[[], Book], ask: Ask = passphrase_given
) -> Rehearsal:  # fmt: skip
    """Restore a backup in the system's folder for temporary files, look through it, delete it.

    ``in_use`` opens the book it is compared with. Damage is told, not raised. Raises NoBackup,
    BackupLocked, NoRoom, NotCopied.
    """
    if not packed.is_file():
        raise NoBackup(packed)
    began = time.monotonic()
    with not_copied(tempfile.gettempdir()), workplace(Path(tempfile.gettempdir()), "rehearse") as w:
        try:
            with opened(packed, w, ask, packed) as laid:
                return _looked_at(laid, packed, in_use, began)
        except BadBackup as error:
            damage = Damage(error.what, str(packed), error.todo)
            return Rehearsal(seconds=time.monotonic() - began, damages=(damage,))


def _looked_at(
    laid: LaidOut, packed: Path, in_use: Callable[[], Book], began: float
) -> Rehearsal:  # fmt: skip
    """Check and count a backup that was laid out, and compare it with the book in use."""
    examined = looked_through(laid, packed)
    seconds = time.monotonic() - began
    with laid.book.reading() as conn:
        heads = reading.heads(conn)
        files = len(kept_hashes(conn))
        compared = _compared(in_use, heads, conn)
    return Rehearsal(
        made_at=laid.made_at,
        schema=laid.schema,
        records=sum(head.count for head in heads),
        chains=len(heads),
        files=files,
        seconds=seconds,
        damages=tuple(examined.damages),
        newer=compared.newer,
        parted=compared.parted,
        lacking=compared.lacking,
        not_compared=compared.not_compared,
    )


def _compared(in_use: Callable[[], Book], heads: list[Head], packed: Connection) -> _Comparison:
    """Count what the book in use has beyond these heads, and list those that are not its own.

    ``packed`` reads the backup. A book that is damaged or not there is no reason not to rehearse:
    it is said why.
    """
    noted = {head.subject: head.count for head in heads}
    try:
        live = in_use()
        with live.reading() as conn:
            standing = {head.subject: head for head in reading.heads(conn)}
        longer = _longer(heads, standing, packed)
        parted = tuple(against(live, [head for head in heads if head not in longer]).damages)
    except AnotherBook:
        return _Comparison(parted=(Damage("it is of another book", "every chain", ""),))
    except Refused as error:
        return _Comparison(not_compared=error.what)
    beyond = [head.count - noted.get(head.subject, 0) for head in standing.values()]
    return _Comparison(
        newer=sum(count for count in beyond if count > 0),
        parted=parted,
        lacking=tuple(_lacks(head, standing.get(head.subject), packed) for head in longer),
    )


def _longer(heads: list[Head], standing: dict[str, Head], packed: Connection) -> list[Head]:
    """List the chains of the backup that go on where those of the book in use end.

    A chain that is not in that book is one of them where the shop's own is of one history.
    """
    longer = [
        head
        for head in heads
        if head.subject in standing and _goes_on(head, standing[head.subject], packed)
    ]
    shop = {head.subject: head for head in heads}.get(SHOP)
    if shop in longer or shop == standing.get(SHOP):
        longer += [head for head in heads if head.subject not in standing]
    return longer


def _goes_on(head: Head, live: Head, packed: Connection) -> bool:
    """Tell whether a chain of the backup begins as that of the book in use, and is longer."""
    query = select(record.c.hash).where(
        record.c.subject == head.subject, record.c.sequence == live.count
    )
    return live.count < head.count and packed.execute(query).scalar() == live.hash


def _lacks(head: Head, live: Head | None, packed: Connection) -> Damage:
    """Say which records of a chain the book in use lacks, and name the vehicle or product."""
    count = head.count - (live.count if live else 0)
    records = "1 record" if count == 1 else f"{count:,} records"
    kind, _, entity_id = head.subject.partition(":")
    ref = packed.execute(select(entity.c.ref).where(entity.c.id == entity_id)).scalar()
    return Damage(f"the backup has {records} that the book lacks", f"{kind} {ref or ''}".strip(),
                  LACKING)  # fmt: skip
