"""Releasing a work history: make it, open it again, search it, sign it, write it, note it.

    material -> files made ready -> sheet -> page -> records -> proof -> page, PDF, JSON
             -> second net over every output -> edition noted in the book -> written

A release that finds something private stops before anything is noted or written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path

from recondition.book import Connection, reading
from recondition.book.context import NotThere
from recondition.book.editions import editions_of, post_edition
from recondition.book.engine import Book
from recondition.book.keys import Ask, open_key, signer
from recondition.book.public import Material, as_released, material_of
from recondition.book.questions import vehicle_of
from recondition.condition.vehicle import Vehicle
from recondition.errors import Refused
from recondition.fields import Id
from recondition.history.allowed import Allowed
from recondition.history.folder import HTML, JSON, MANIFEST, PDF, RELEASED, WITHDRAWN
from recondition.history.layout import Page
from recondition.history.net import Hit, LeakFound, Secret, Shown, Sort, code_of, search, secrets_of
from recondition.history.page import lay_out
from recondition.history.proof import (
    About,
    File,
    PlainValue,
    code,
    head_hash,
    manifest_of,
    proof_of,
    release_of,
    sealed_html,
    sealed_json,
    withdrawal_of,
)
from recondition.history.recorded import records_of
from recondition.history.records import Edition, LetPass
from recondition.history.remarks import ahead, remarks_on
from recondition.history.saying import DEFAULT, Saying
from recondition.history.sheet import Issue, Sheet, build
from recondition.history.signing import Signer, fingerprint_of
from recondition.history.source import Source
from recondition.ledger.drafts import Stored
from recondition.reports.history_drawings import drawings_of
from recondition.reports.history_files import refuse_taken
from recondition.reports.history_html import Art, Proven, shown_by, to_html
from recondition.reports.history_json import document_of
from recondition.reports.history_pdf import to_pdf
from recondition.reports.public_files import Ready, made_ready
from recondition.reports.reopened import places_in, reopened
from recondition.reports.whole import write_bytes

PRIVATE_KEY = "PRIVATE KEY-----"
OTHER_KEY = "it is signed with another key than an edition before: tell those who know that one"
Told = Callable[[str, int, int | None], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is asked for: of which vehicle, on which day, by whom (None: a trial copy).

    A sheet never bears a day before that of the edition whose place it takes; without a
    ``locale`` it is written like that one. ``into`` is the folder it will go to: whether it can
    is asked before an edition is noted. ``holds`` may refuse on the very reading that the sheet
    is made from, and ``lay`` lays what was made down before it is noted.
    """

    vehicle: str
    made_on: date
    author: str | None = None
    locale: str | None = None
    into: Path | None = None
    told: Told = lambda _words, _done, _of: None
    holds: Callable[[Connection], None] = lambda _conn: None
    lay: Callable[[Made], None] = lambda _made: None


@dataclass(frozen=True, slots=True)
class Made:
    """A work history in all its forms, signed: the files, the head, and how it goes out.

    ``passed`` are the hits that were let pass, each with its reason.
    """

    files: tuple[File, ...]
    proof: PlainValue
    number: int | None
    fingerprint: str
    passed: tuple[str, ...] = ()

    @property
    def remarks(self) -> list[str]:
        """What to look at: words that people typed, days that lie ahead, another key."""
        records = [each["record"] for each in self.proof["records"]]
        earlier = {
            each["data"]["fingerprint"] for each in records if each["name"].startswith("edition/")
        }
        another = [OTHER_KEY] if earlier - {self.fingerprint} else []
        return [*another, *ahead(records, self.proof["head"]["made_on"]), *remarks_on(records)]

    @property
    def code(self) -> str:
        """The short code."""
        return code(self.proof)


def release(book: Book, wanted: Wanted, ask: Ask) -> Made:
    """Make, search and sign the work history of a vehicle, and note it as an edition.

    Where nothing public changed since the last edition and the key is the same, that one is made
    again, to the byte. ``ask`` gives the passphrase of the key. Raises NotThere, LeakFound,
    NoSuchLocale, FileNotPublished, PictureNotPublished, KeyLocked and its like, EditionRaced,
    MovedOn, UnknownAuthor, BesideTheBook, AnotherVehicle, FileNotWritten.
    """
    lies = (book.path or book.files).resolve().parent
    if wanted.into and wanted.into.resolve() == lies:
        raise BesideTheBook(wanted.into)
    with book.reading() as conn:
        wanted.holds(conn)
        vehicle = vehicle_of(conn, wanted.vehicle)
        author = wanted.author and reading.author_of(conn, wanted.author)
        days = [each.entry.made_on for each in editions_of(conn, vehicle.id)]
        made_on = max([wanted.made_on, *days])
        material = material_of(conn, vehicle, made_on)
        last = _last(material.source)
        before = as_released(conn, material.source, last) if last else None
    by = signer(open_key(book, ask))
    maker = _Maker(material, wanted, by)
    locale = Saying(wanted.locale or (last.entry.locale if last else DEFAULT)).name
    stands = last and last.id not in material.source.withdrawn
    if last and before and stands and last.entry.fingerprint == fingerprint_of(by.public):
        begun = maker.begin(before, Issue(last.entry.number, last.entry.made_on, locale))
        if head_hash(begun.proof["head"]).hex() == last.entry.head:
            again = maker.finish(begun)
            return replace(again, passed=_told(maker.search(vehicle, again)))
    number = last.entry.number + 1 if last else 1
    issue = Issue(number if author else None, made_on, locale)
    made = maker.finish(maker.begin(material.source, issue))
    passed = maker.search(vehicle, made)
    if wanted.into is not None:
        refuse_taken(made, wanted.into)
    if wanted.author:
        edition = _edition(vehicle, made, issue, last, passed)
        wanted.lay(made)
        post_edition(book, wanted.author, edition, material.source.head)
    return replace(made, passed=_told(passed))


def _told(passed: Sequence[Stored[LetPass]]) -> tuple[str, ...]:
    """Say what was let pass, and why."""
    return tuple(f"{note.entry.hit}: {note.entry.reason}" for note in passed)


def _last(source: Source) -> Stored[Edition] | None:
    """Give the last edition that went out."""
    return source.editions[-1] if source.editions else None


def _edition(
    vehicle: Stored[Vehicle],
    made: Made,
    issue: Issue,
    last: Stored[Edition] | None,
    passed: Sequence[Stored[LetPass]],
) -> Edition:
    """Make the record of an edition."""
    head = made.proof["head"]
    return Edition(
        vehicle=Id(vehicle.id),
        number=issue.number or 0,
        made_on=issue.made_on,
        head=head_hash(head).hex(),
        code=made.code,
        fingerprint=made.fingerprint,
        content=head["root"],
        locale=issue.locale,
        supersedes=Id(last.id) if last else None,
        let_pass=tuple(Id(each.id) for each in passed),
    )


class BesideTheBook(Refused):
    """A folder to hand out that holds the book itself, and its key."""

    def __init__(self, folder: Path) -> None:
        """Name the folder."""
        super().__init__(
            f"{folder} holds the book and its signing key",
            todo="Give the work history a folder of its own; that one is handed out as a whole.",
        )


@dataclass(frozen=True, slots=True)
class _Begun:
    """A sheet that is laid out and proven, before any form of it is made."""

    sheet: Sheet
    page: Page
    art: Mapping[str, Art]
    evidence: tuple[File, ...]
    proof: PlainValue


class _Maker:
    """Makes the forms of one vehicle's work history; pictures are made ready once."""

    def __init__(self, material: Material, wanted: Wanted, by: Signer) -> None:
        self._material = material
        self._wanted = wanted
        self._by = by
        self._ready: list[Ready] = made_ready(
            material.files, lambda done, of: wanted.told("pictures", done, of)
        )
        self._issued = {each.document: each.issued for each in self._ready}
        self._seen: dict[str, str] = {}

    def begin(self, source: Source, issue: Issue) -> _Begun:
        """Make the sheet under an issue and prove it; its head tells one that went out."""
        self._wanted.told("page", 0, None)
        sheet = build(source, issue, self._issued)
        drawn = drawings_of(sheet)
        shots = {name: shot for name, (shot, _) in drawn.items()}
        art = {name: Art("image/svg+xml", svg) for name, (_, svg) in drawn.items()}
        files = list(zip(sheet.evidence, self._ready, strict=True))
        art |= {row.name: Art("image/jpeg", each.small) for row, each in files if each.small}
        page = lay_out(sheet, shots)
        evidence = tuple(File(row.path, each.content) for row, each in files)
        self._seen = {row.path: each.seen for row, each in files if each.seen}
        shown = shown_by(to_html(page, art, Proven()))
        drawings = [(shot, art[name].sha256) for name, shot in shots.items()]
        records = records_of(sheet, drawings, shown)
        about, key = self._about(sheet), self._material.book_key
        proof = proof_of(records, evidence, about, secret=key, signer=self._by)
        return _Begun(sheet, page, art, evidence, proof)

    def _about(self, sheet: Sheet) -> About:
        """Say what the head says of the sheet besides hashes."""
        car, number = sheet.identity, sheet.issue.number
        editions = {each.entry.number: each.entry.head for each in self._material.source.editions}
        return About(
            designation=car.designation,
            chassis=car.chassis_stamped or car.chassis_documents or "",
            edition=str(number) if number else "",
            made_on=sheet.made_on.isoformat(),
            supersedes=editions.get(number - 1, "") if number else "",
        )

    def finish(self, begun: _Begun) -> Made:
        """Make every form of what was begun."""
        self._wanted.told("page, PDF and JSON", 0, None)
        proof, page, art = begun.proof, begun.page, begun.art
        proven = Proven(code(proof), fingerprint_of(self._by.public), proof)
        html = sealed_html(to_html(page, art, proven), proof, self._by)
        files = [
            File(HTML, html.encode()),
            File(PDF, to_pdf(page, art, proven)),
            File(JSON, sealed_json(document_of(begun.sheet), proof, self._by).encode()),
            File(MANIFEST, manifest_of(proof).encode()),
            *begun.evidence,
        ]
        released = File(RELEASED, release_of(files, proof, self._by).encode())
        number = begun.sheet.issue.number
        return Made((*files, released), proof, number, proven.fingerprint)

    def search(self, vehicle: Stored[Vehicle], made: Made) -> list[Stored[LetPass]]:
        """Open every output again and search it; give the notes of what was let pass.

        Raises LeakFound.
        """
        self._wanted.told("searching what was made", 0, None)
        texts, hits = reopened({file.path: file.content for file in made.files})
        for path, seen in self._seen.items():
            texts[path].append(seen)
        hits = [*hits, *_keys_in(texts)]
        hits += search(texts, _secrets(self._material, made.proof["records"]))
        said = {text for each in made.proof["records"] for text in _texts(each["record"]["data"])}
        return _stopped(vehicle.ref, self._material, hits, said)


def _keys_in(texts: Mapping[str, Iterable[str]]) -> list[Hit]:
    """Find a private key that somebody listed as evidence."""
    found = Secret(Sort.NOTE, PRIVATE_KEY, "a key, not a record")
    return [Hit(name, found, "") for name, all_of in texts.items() if PRIVATE_KEY in str(all_of)]


def _secrets(material: Material, records: Iterable[PlainValue]) -> tuple[Secret, ...]:
    """Give what no buyer may see, beside the public ``records``."""
    shown = _shown(material.source, records)
    return secrets_of(material.secrets, shown=shown, places=_places(material.originals))


def _stopped(
    vehicle: str, material: Material, hits: Sequence[Hit], said: Iterable[str]
) -> list[Stored[LetPass]]:
    """Stop at hits that nobody let pass; give the notes of what was let pass. Raises LeakFound.

    A hit is let pass where it stands: in other public texts (of those ``said``) it is another.
    """
    secrets = list(dict.fromkeys(hit.secret for hit in hits))
    within: dict[Secret, set[str]] = {secret: set() for secret in secrets}
    numbered = dict(enumerate(sorted(set(said))))
    for hit in search({str(at): [text] for at, text in numbered.items()}, secrets):
        within[hit.secret].add(numbered[int(hit.output)])
    codes = {each: code_of(material.book_key, each, within[each]) for each in secrets}
    stopping = [hit for hit in hits if codes[hit.secret] not in material.passed]
    if stopping:
        raise LeakFound(vehicle, stopping, codes)
    return [note for code, note in material.passed.items() if code in codes.values()]


def _places(originals: Iterable[str]) -> list[tuple[Decimal, Decimal]]:
    """Read where the untouched pictures say that they were taken."""
    found = []
    for path in originals:
        with suppress(OSError):
            place = places_in(Path(path).read_bytes())
            if place is not None:
                found.append(place)
    return found


def _shown(source: Source, records: Iterable[PlainValue]) -> Shown:
    """Say what may be seen: texts of public fields, and names that are public or agreed to."""
    texts: set[str] = set()
    for each in records:
        record = each["record"]
        if "text" not in record["data"]:
            texts |= set(_texts(record["data"]))
    kinds = {each.entry.material_type for each in source.products.values()}
    names = {source.shop_name, source.vehicle.entry.designation, *kinds, *Allowed(source).names()}
    return Shown(texts=frozenset(texts), names=frozenset(filter(None, names)))


def _texts(value: object) -> Iterable[str]:
    """Give every text in a record."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from _texts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _texts(inner)


def refuse_private(book: Book, vehicle_ref: str, what: str, words: str) -> None:
    """Refuse words that a buyer is to read and that hold something private of a vehicle.

    ``what`` names them in the refusal. Raises NotThere, LeakFound.
    """
    with book.reading() as conn:
        vehicle = vehicle_of(conn, vehicle_ref)
        material = material_of(conn, vehicle, book.now().astimezone().date())
    hits = search({what: [words]}, _secrets(material, ()))
    _stopped(vehicle.ref, material, hits, [words])


def write_withdrawal(book: Book, vehicle_ref: str, number: int, folder: Path, ask: Ask) -> Path:
    """Sign the notice that an edition was withdrawn and put it beside what was handed out.

    Its reason was searched before it was noted. Raises NotThere, FileNotWritten, KeyLocked and
    its like.
    """
    with book.reading() as conn:
        vehicle = vehicle_of(conn, vehicle_ref)
        material = material_of(conn, vehicle, book.now().astimezone().date())
    made = {each.entry.number: each for each in material.source.editions}
    noted = material.source.withdrawn.get(made[number].id) if number in made else None
    if noted is None:
        raise NotThere(what="withdrawn edition", name=f"{number} of vehicle {vehicle_ref}")
    notice = withdrawal_of(
        head=made[number].entry.head,
        edition=str(number),
        withdrawn_on=noted.entry.withdrawn_on.isoformat(),
        reason=noted.entry.reason,
        signer=signer(open_key(book, ask)),
    )
    write_bytes(folder / WITHDRAWN, notice.encode())
    return folder / WITHDRAWN
