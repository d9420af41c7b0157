"""Trial copies of work histories, to be looked at before anything is released.

A trial copy is made exactly as a release is, and searched like one; it is noted nowhere. A few
are kept in memory, each under a mark of what it was made from, so that what is released is what
was looked at.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from dataclasses import dataclass
from threading import BoundedSemaphore, Lock
from typing import TYPE_CHECKING

from recondition.book import reading, trail
from recondition.book.keys import KeyLocked, no_passphrase, open_key
from recondition.book.questions import vehicle_of
from recondition.errors import Refused
from recondition.history.folder import EVIDENCE, HTML
from recondition.history.net import LeakFound
from recondition.ledger.chain import SHOP
from recondition.reports.history_release import Made, Wanted, release
from recondition.web.long_work import Outcome
from recondition.web.released import keep

if TYPE_CHECKING:
    from recondition.book import Connection
    from recondition.book.engine import Book
    from recondition.history.net import Hit, Secret
    from recondition.web.long_work import Task

KEPT_MAX = 4
AT_ONCE = 2


class PassphraseNeeded(Refused):
    """The key that signs work histories is locked, and no passphrase or a wrong one was given."""

    def __init__(self, *, given: bool) -> None:
        """Say whether one was given."""
        super().__init__(
            "the passphrase does not open the signing key" if given else
            "the signing key needs its passphrase",
            todo=f"{'Type it again' if given else 'Give it in the form'}. It is used once and kept "
            "nowhere.",
        )  # fmt: skip


class Discreet(Refused):
    """What a search found, said to somebody who may not read it."""

    def __init__(self, stock: str, leak: LeakFound) -> None:
        """Name the vehicle, how many things were found and of which sorts."""
        sorts = sorted({hit.secret.what.value for hit in leak.hits})
        super().__init__(
            f"what was to be shown of {stock} holds something private "
            f"({', '.join(sorts)}): nothing was done",
            todo="Somebody who may see costs and notes has to look at it on this vehicle's page.",
        )


class TrialUnderWay(Refused):
    """As many trial copies are being made as this server makes at once."""

    http_status = 429

    def __init__(self) -> None:
        """Ask for some patience."""
        super().__init__(
            "other trial copies are being made just now", todo="Try again in a few seconds."
        )


class NotAsLookedAt(Refused):
    """A release without a look at a trial copy, or something was recorded since that look."""

    def __init__(self, stock: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"no trial copy of {stock} was looked at, or something was recorded since",
            todo="Nothing was released. Make a trial copy and look at it, then release.",
        )


@dataclass(frozen=True, slots=True)
class Found:
    """One private thing that stands in a trial copy: its code, and every place where it does."""

    code: str
    secret: Secret
    hits: tuple[Hit, ...]

    @property
    def outputs(self) -> str:
        """The files that it stands in."""
        return ", ".join(dict.fromkeys(hit.output for hit in self.hits))

    @property
    def around(self) -> list[str]:
        """What stands around it, each wording once."""
        return [text for text in dict.fromkeys(hit.around for hit in self.hits) if text]


@dataclass(frozen=True, slots=True)
class Preview:
    """What came of a trial: the copy, or why there is none, and private things that were found."""

    mark: str
    made: Made | None = None
    found: tuple[Found, ...] = ()

    @property
    def page(self) -> bytes:
        """The page of the copy; nothing where there is no copy."""
        files = self.made.files if self.made else ()
        return next((file.content for file in files if file.path == HTML), b"")

    @property
    def evidence(self) -> int:
        """How many evidence files go out with it."""
        files = self.made.files if self.made else ()
        return sum(file.path.startswith(EVIDENCE) for file in files)


def mark_of(conn: Connection, stock: str, day: str) -> str:
    """Give a mark of what a trial copy of one day is made from. Raises NotThere.

    It changes with any entry about the vehicle or the shop.
    """
    subjects = (vehicle_of(conn, stock).subject, SHOP)
    heads = [reading.head_of(conn, subject) for subject in subjects]
    told = [day, *(f"{head.subject} {head.hash}" for head in heads if head is not None)]
    return hashlib.sha256("\n".join(told).encode()).hexdigest()[:32]


def mark_now(book: Book, stock: str) -> str:
    """Give the mark of a trial copy that would be made now. Raises NotThere."""
    with book.reading() as conn:
        return mark_of(conn, stock, book.now().astimezone().date().isoformat())


def is_locked(book: Book) -> bool:
    """Tell whether the signing key asks for a passphrase. Raises KeyNotUsable and its like."""
    try:
        open_key(book, no_passphrase)
    except KeyLocked:
        return True
    return False


def made_from(book: Book, wanted: Wanted, passphrase: str) -> Made:
    """Make or release a work history with a passphrase that may be empty.

    This is the one place here where it is made; it can take seconds. Raises PassphraseNeeded and
    what ``release`` raises.
    """
    try:
        return release(book, wanted, lambda: passphrase or None)
    except KeyLocked as error:
        raise PassphraseNeeded(given=bool(passphrase)) from error


def tried(book: Book, stock: str, passphrase: str) -> Preview:
    """Make a trial copy of a vehicle's work history as it would go out today.

    Private things that stop it are given, not raised. Raises PassphraseNeeded, NotThere and what
    ``release`` raises else.
    """
    today = book.now().astimezone().date()
    mark = mark_now(book, stock)
    try:
        made = made_from(book, Wanted(vehicle=stock, made_on=today), passphrase)
    except LeakFound as leak:
        return Preview(mark, found=_sorted(leak))
    return Preview(mark, made)


def released(task: Task) -> Outcome:
    """Make, search, sign and note the work history that was looked at, and keep its files.

    ``vehicle`` is its stock number, ``person`` who releases it, ``seen`` the mark of the trial
    copy that was looked at, where one was, ``passphrase`` that of the shop's key where it is
    locked. ``private`` is set where whoever asked may read what the search finds; ``login`` and
    ``address`` are for the trail, ``to`` is the page to go on to. Raises NotAsLookedAt,
    PassphraseNeeded, LeakFound or Discreet, and what ``release`` raises else.
    """
    given, book = task.arguments, task.book
    stock = given["vehicle"]
    if given.get("seen") and given["seen"] != mark_now(book, stock):
        raise NotAsLookedAt(stock)
    today = book.now().astimezone().date()
    wanted = Wanted(vehicle=stock, made_on=today, author=given["person"], told=task.told)
    try:
        made = made_from(book, wanted, given.get("passphrase") or "")
    except LeakFound as leak:
        if given.get("private"):
            raise
        raise Discreet(stock, leak) from None
    keep(book, made)
    trail.noted(
        book, action="work history released", login_id=given.get("login"), subject=stock,
        detail=f"edition {made.number}", address=given.get("address") or "",
    )  # fmt: skip
    said = [
        f"Edition {made.number} of the work history of {stock} is released.",
        f"Short code: {made.code}",
        f"Fingerprint of the key: {made.fingerprint}",
        *(f"Look at this: {line}" for line in made.remarks),
    ]
    passed = [f"Let pass: {line}" for line in made.passed] if given.get("private") else []
    answer = {"number": str(made.number), "code": made.code, "fingerprint": made.fingerprint}
    return Outcome(said=(*said, *passed), to=given.get("to") or "", answer=answer)


def _sorted(leak: LeakFound) -> tuple[Found, ...]:
    """Put the hits of one private thing together."""
    hits: dict[Secret, list[Hit]] = {}
    for hit in leak.hits:
        hits.setdefault(hit.secret, []).append(hit)
    return tuple(Found(leak.codes[each], each, tuple(where)) for each, where in hits.items())


class Previews:
    """Trial copies in memory, the last few; a few are made at once, so that pages stay quick."""

    def __init__(self) -> None:
        """Begin with none."""
        self._lock, self._making = Lock(), BoundedSemaphore(AT_ONCE)
        self._kept: OrderedDict[tuple[str, str], Preview] = OrderedDict()

    def make(self, book: Book, stock: str, passphrase: str) -> Preview:
        """Make a trial copy and keep it; the oldest ones go.

        Raises TrialUnderWay, and what ``tried`` raises.
        """
        if not self._making.acquire(blocking=False):
            raise TrialUnderWay
        try:
            preview = tried(book, stock, passphrase)
        finally:
            self._making.release()
        with self._lock:
            self._kept[stock, preview.mark] = preview
            self._kept.move_to_end((stock, preview.mark))
            while len(self._kept) > KEPT_MAX:
                self._kept.popitem(last=False)
        return preview

    def of(self, stock: str, mark: str) -> Preview | None:
        """Give the trial copy of a vehicle that was made from what ``mark`` stands for."""
        with self._lock:
            return self._kept.get((stock, mark))
