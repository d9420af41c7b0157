"""Trial copies of work histories, to be looked at before anything is released.

A trial copy is made exactly as a release is, and searched like one; it is noted nowhere. It lies
in the folder of the work that made it, as long as that is kept, under a mark of what it was made
from, so that what is released is what was looked at.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from recondition.book import reading, trail
from recondition.book.keys import KeyLocked, no_passphrase, open_key
from recondition.book.questions import vehicle_of
from recondition.errors import Refused
from recondition.history.folder import EVIDENCE, HTML
from recondition.history.net import LeakFound
from recondition.ledger.chain import SHOP
from recondition.reports.history_release import Made, Wanted, release
from recondition.web.long_work import Outcome
from recondition.web.released import keep, let_go

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from recondition.book import Connection
    from recondition.book.engine import Book
    from recondition.history.net import Hit, Secret
    from recondition.web.long_work import Task
    from recondition.web.running import Job

TRIAL = "trial copy"
PAGE = "work-history-trial.html"
_ABOUT = "trial.json"


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

    def __init__(self, stock: str, leak: LeakFound, typed: str = "") -> None:
        """Name the vehicle, or what was just ``typed``, and of which sorts what was found is."""
        sorts = sorted({hit.secret.what.value for hit in leak.hits})
        super().__init__(
            f"{typed or f'what was to be shown of {stock}'} holds something private "
            f"({', '.join(sorts)}): nothing was done",
            todo="Word it without that: a buyer may read it." if typed else
            "Somebody who may see costs and notes has to look at it on this vehicle's page.",
        )  # fmt: skip


class NotAsLookedAt(Refused):
    """A release without a look at a trial copy, or something was recorded since that look."""

    def __init__(self, stock: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"no trial copy of {stock} was looked at, or something was recorded since",
            todo="Nothing was released. Make a trial copy and look at it, then release.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One private thing that stands in a trial copy: its code, what it is, and where it stands.

    ``where`` is its place in the book, ``outputs`` are the files that it was found in, and
    ``around`` is what stands around it, each wording once.
    """

    code: str
    sort: str
    text: str
    where: str
    outputs: tuple[str, ...]
    around: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """What came of a trial: the copy, or the private things for which there is none.

    ``number`` is set where nothing public has changed since that edition; ``made_on`` is the day
    on the sheet (ISO 8601); ``evidence`` counts the evidence files that go out with it.
    """

    mark: str
    made: bool
    number: int | None = None
    made_on: str = ""
    fingerprint: str = ""
    evidence: int = 0
    remarks: tuple[str, ...] = ()
    passed: tuple[str, ...] = ()
    found: tuple[Found, ...] = ()
    page: bytes = b""

    def write(self, folder: Path) -> None:
        """Write it into a folder, for ``read``."""
        (folder / PAGE).write_bytes(self.page)
        about = asdict(replace(self, page=b""))
        del about["page"]
        (folder / _ABOUT).write_text(json.dumps(about), encoding="utf-8", newline="")

    @classmethod
    def read(cls, folder: Path) -> Preview:
        """Read one that was written into a folder. Raises OSError where it is gone."""
        about: dict[str, Any] = json.loads((folder / _ABOUT).read_text(encoding="utf-8"))
        found = tuple(
            Found(**each | {name: tuple(each[name]) for name in ("outputs", "around")})
            for each in about.pop("found")
        )
        about |= {name: tuple(about[name]) for name in ("remarks", "passed")}
        return cls(**about, found=found, page=(folder / PAGE).read_bytes())


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


def tried(task: Task) -> Outcome:
    """Make a trial copy of a vehicle's work history as it would go out today, and keep it.

    ``vehicle`` is its stock number, ``passphrase`` that of the shop's key where it is locked,
    ``to`` the page to go on to. Private things that stop it are kept, not raised. The answer
    gives its mark as ``seen``. Raises PassphraseNeeded, NotThere and what ``release`` raises
    else.
    """
    given, book = task.arguments, task.book
    stock, today = given["vehicle"], book.now().astimezone().date()
    mark = mark_now(book, stock)
    wanted = Wanted(vehicle=stock, made_on=today, told=task.told)
    try:
        preview = _preview(mark, made_from(book, wanted, given.get("passphrase") or ""))
    except LeakFound as leak:
        preview = Preview(mark=mark, made=False, found=_sorted(leak))
    preview.write(task.folder)
    said = "The trial copy is made." if preview.made else "Something private stands in it."
    return Outcome(
        said=(f"{said} Nothing was released.",), file=PAGE if preview.made else "",
        to=f"{given.get('to') or ''}#{'look' if preview.made else 'found'}",
        answer={"seen": mark} if preview.made else {},
    )  # fmt: skip


def _preview(mark: str, made: Made) -> Preview:
    """Keep of a work history what is looked at before it is released."""
    return Preview(
        mark=mark, made=True, number=made.number, made_on=made.proof["head"]["made_on"],
        fingerprint=made.fingerprint,
        evidence=sum(file.path.startswith(EVIDENCE) for file in made.files),
        remarks=tuple(made.remarks), passed=made.passed,
        page=next(file.content for file in made.files if file.path == HTML),
    )  # fmt: skip


def preview_of(works: Iterable[Job], stock: str, mark: str) -> Preview | None:
    """Give the trial copy of a vehicle that was made from what ``mark`` stands for.

    ``works`` are the long work of the server, the newest first; whoever had it made.
    """
    for job in works:
        if job.kind == TRIAL and job.outcome is not None and job.arguments["vehicle"] == stock:
            try:
                preview = Preview.read(job.folder)
            except OSError:
                continue
            if preview.mark == mark:
                return preview
    return None


def released(task: Task) -> Outcome:
    """Make, search, sign, keep and note the work history that was looked at.

    ``vehicle`` is its stock number, ``person`` who releases it, ``seen`` the mark of the trial
    copy that was looked at, where one was, ``passphrase`` that of the shop's key where it is
    locked. ``private`` is set where whoever asked may read what the search finds; ``login`` and
    ``address`` are for the trail, ``to`` is the page to go on to. Raises NotAsLookedAt,
    PassphraseNeeded, LeakFound or Discreet, and what ``release`` raises else.
    """
    given, book = task.arguments, task.book
    stock, today = given["vehicle"], book.now().astimezone().date()
    kept: list[Made] = []

    def holds(conn: Connection) -> None:
        if given.get("seen") and given["seen"] != mark_of(conn, stock, today.isoformat()):
            raise NotAsLookedAt(stock)

    def lay(made: Made) -> None:
        keep(book, made)
        kept.append(made)

    wanted = Wanted(
        vehicle=stock, made_on=today, author=given["person"], told=task.told, holds=holds, lay=lay
    )
    try:
        made = made_from(book, wanted, given.get("passphrase") or "")
    except BaseException as error:
        for each in kept:
            let_go(book, each)
        if isinstance(error, LeakFound) and not given.get("private"):
            raise Discreet(stock, error) from None
        raise
    if not kept:  # nothing public changed: the last edition was made again
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
    return tuple(
        Found(
            code=leak.codes[secret], sort=secret.what.value, text=secret.text, where=secret.where,
            outputs=tuple(dict.fromkeys(hit.output for hit in found)),
            around=tuple(dict.fromkeys(hit.around for hit in found if hit.around)),
        )
        for secret, found in hits.items()
    )  # fmt: skip
