"""A restore tried out: the backup is laid out, checked, counted, compared, and taken away again."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from recondition.book import reading
from recondition.book.backup import NoBackup, opened
from recondition.book.check import against
from recondition.book.copying import kept_hashes, not_copied
from recondition.book.damage import Damage
from recondition.book.engine import Book
from recondition.book.errors import AnotherBook
from recondition.book.packing import BadBackup, LaidOut, looked_through
from recondition.book.sealing import Ask, passphrase_given
from recondition.book.workplace import workplace
from recondition.errors import Refused
from recondition.ledger.chain import Head


@dataclass(frozen=True, slots=True, kw_only=True)
class Rehearsal:
    """What a restore would bring back, how long it took, and what it would lose.

    ``newer`` is how many records the book in use has beyond the backup; ``parted`` says where the
    two have another history. Where no book could be compared, ``not_compared`` says why.
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
    newer, parted, not_compared = _compared(in_use, heads)
    return Rehearsal(
        made_at=laid.made_at,
        schema=laid.schema,
        records=sum(head.count for head in heads),
        chains=len(heads),
        files=files,
        seconds=seconds,
        damages=tuple(examined.damages),
        newer=newer,
        parted=parted,
        not_compared=not_compared,
    )


def _compared(
    in_use: Callable[[], Book], heads: list[Head]
) -> tuple[int | None, tuple[Damage, ...], str]:
    """Count what the book in use has beyond these heads, and list those that are not its own.

    A book that is damaged or not there is no reason not to rehearse: it is said why.
    """
    noted = {head.subject: head.count for head in heads}
    try:
        live = in_use()
        with live.reading() as conn:
            beyond = [head.count - noted.get(head.subject, 0) for head in reading.heads(conn)]
        parted = tuple(against(live, heads).damages)
    except AnotherBook:
        return None, (Damage("it is of another book", "every chain", ""),), ""
    except Refused as error:
        return None, (), error.what
    return sum(count for count in beyond if count > 0), parted, ""
