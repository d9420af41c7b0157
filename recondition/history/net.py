"""The second net: what is private, and whether any of it stands in what was made for a buyer.

The work history is built from an allow-list alone. This looks at the finished outputs without
trusting that: every amount, name, note and place of the vehicle's records that is not public
is searched for. What is found stops the release until the words are put right or somebody says
why it may stand (a film reading can equal a price). Public words are whatever people wrote:
this finds a private thing in them, never another wording of it.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Any

from recondition.amounts import Money
from recondition.condition.defects import MATERIALS
from recondition.condition.panels import PANELS, TOGETHER
from recondition.errors import Refused
from recondition.history import phrases, wording, wording_proof
from recondition.history.net_fields import Place, kept_amounts, private_in, strings_in
from recondition.history.net_forms import (
    SIGNIFICANT_MIN,
    amount_keys,
    degrees_in,
    in_money_form,
    numbers_in,
    plain,
    without_data,
    without_proofs,
    words_in,
)
from recondition.ledger.drafts import Stored

NOTE_MIN = 12
NEAR_DEGREES = Decimal("0.002")
AROUND = 30
LISTED_MAX = 10
_WORD_MIN = 4
_SHORT_NAME = 3
# A text of twelve signs has at least seven that are no blanks.
_START = 7
_BETWEEN = "\n|\n"

_NAMED: Mapping[str, tuple[str, ...]] = {
    "person": ("name", "contact"),
    "supplier": ("name", "contact"),
    "product": ("name",),
}
_NAMES_ANYWHERE = frozenset({
    "buyer", "seller", "witness", "released_to", "contact", "signed_by",
})  # fmt: skip
_NO_NOTE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T\S*|[0-9a-f]{32,}")
_SENTENCES = re.compile(r"[\r\n]+|(?<=[.!?;])\s+")
# Two words or more with capitals, one after another: somebody is called so.
_CALLED = re.compile(r"\b[A-Z\u00c0-\u00de][\w'.-]*(?: [A-Z\u00c0-\u00de][\w'-]+)+")
_CONTACTS = re.compile(r"[\r\n,;]+")


class Sort(StrEnum):
    """What sort of private thing it is."""

    AMOUNT = "amount"
    NAME = "name"
    NOTE = "note"
    COORDINATES = "coordinates"
    METADATA = "metadata"


@dataclass(frozen=True, slots=True)
class Secret:
    """One private thing: its sort, its text as shown, and the record and field it stands in.

    ``sought`` is what is looked up: keys of an amount, a name in plain text, a note without
    blanks, degrees without sign. ``exact`` wants capitals as they are. ``part_of`` is the text
    that this is a part of, empty where it is whole.
    """

    what: Sort
    text: str
    where: str
    sought: tuple[str, ...] = ()
    exact: bool = False
    part_of: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a buyer sees anyway: ``texts`` exactly as public, and ``names``, their words too."""

    texts: frozenset[str] = frozenset()
    names: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Hit:
    """A private thing that stands in an output, with some of the text ``around`` it."""

    output: str
    secret: Secret
    around: str


class LeakFound(Refused):
    """Something private stands in a work history that was about to be released."""

    def __init__(self, vehicle: str, hits: Sequence[Hit], codes: Mapping[Secret, str]) -> None:
        """List what was found, each with its code, and say how many more there are."""
        found: dict[Secret, list[Hit]] = {}
        for hit in hits:
            found.setdefault(hit.secret, []).append(hit)
        lines = [_line(each, codes[secret]) for secret, each in found.items()]
        if len(lines) > LISTED_MAX:
            lines[LISTED_MAX:] = [f"and {len(lines) - LISTED_MAX} more"]
        super().__init__(
            f"the work history of {vehicle} would show what is private; nothing was released",
            where="\n    ".join(["", *lines]),
            todo="Correct the public words, or let one hit stand and say why: "
            f"'recondition history let-pass {vehicle} CODE REASON'.",
        )
        self.hits, self.codes = tuple(hits), dict(codes)


def _line(hits: Sequence[Hit], code: str) -> str:
    """Write the hits of one private thing as a line; a long text is cut."""
    secret, around = hits[0].secret, hits[0].around
    text = secret.text if len(secret.text) <= 2 * AROUND else f"{secret.text[: 2 * AROUND]}..."
    places = ", ".join(hit.output for hit in hits)
    near = f": ...{around}..." if around else ""
    return f"{code}  {secret.what.value} {text!r} ({secret.where}) in {places}{near}"


def code_of(key: bytes, secret: Secret, within: Iterable[str] = ()) -> str:
    """Give the eight signs by which a user names a private thing where it was found.

    ``within`` are the public texts that hold it: in another text it is another hit. ``key`` is a
    secret of the book: the code tells nobody else what it stands for.
    """
    told = "\n".join([secret.what.value, secret.text, *sorted(set(within))]).encode()
    code = base64.b32encode(hmac.digest(key, told, hashlib.sha256))[:8].decode().lower()
    return code.translate(str.maketrans("il", "89"))


def secrets_of(
    records: Iterable[Stored[Any]],
    *,
    shown: Shown,
    places: Iterable[tuple[Decimal, Decimal]] = (),
) -> tuple[Secret, ...]:
    """Give everything of some records that no buyer may see, each once.

    Every field counts that the allow-list does not name for its kind, with what the book worked
    out beside it. ``places`` are latitudes and longitudes in degrees. A name of one sign is
    left out, as are words that the sheet prints by itself.
    """
    known = _Known(shown)
    found: dict[tuple[Sort, str], Secret] = {}
    for record in records:
        for place, value in private_in(record):
            for secret in _made(place, value, known):
                found.setdefault((secret.what, secret.text), secret)
    for latitude, longitude in places:
        sought = (str(abs(latitude)), str(abs(longitude)))
        spot = Secret(Sort.COORDINATES, f"{latitude}, {longitude}", "a photograph", sought)
        found.setdefault((spot.what, spot.text), spot)
    return tuple(found.values())


class _Known:
    """Public texts, names and words in the form in which private ones are compared."""

    def __init__(self, shown: Shown) -> None:
        """Put what is shown beside the lists and the wording that every sheet is made with."""
        lists = [each for panels in PANELS.values() for each in panels]
        for material in MATERIALS:
            lists += [material.name, *material.defects, *material.operations]
        made_with = [t for m in (phrases, wording, wording_proof) for t in strings_in(vars(m))]
        printed = [*lists, *TOGETHER, *made_with]
        self.texts = {_folded(text) for text in (*shown.texts, *shown.names, *printed)}
        self.names = {_folded(name) for name in shown.names}
        self.words = {
            word.casefold() for text in (*shown.names, *printed) for word, _, _ in words_in(text)
        }


def _folded(text: str) -> str:
    """Make a text ready to be compared: plain, without blanks and capitals."""
    return plain(text).casefold().replace(" ", "")


def _made(place: Place, value: Money | str, known: _Known) -> Iterator[Secret]:
    """Make the private things that one value gives rise to."""
    if isinstance(value, Money):
        yield from _amount(value, str(place))
    elif place.path[-1] in _NAMED.get(place.kind, ()) or place.path[-1] in _NAMES_ANYWHERE:
        yield from _names(value, place, known)
    elif moneys := kept_amounts(value):
        for money in moneys:
            yield from _amount(money, str(place))
    else:
        if place.path[-1] == "private_note":
            yield from _figures(value, place)
        if place.path[-1] == "given_by":
            for found in _CALLED.finditer(plain(value)):
                yield from _names(found[0], place, known)
        yield from _notes(value, place, known)


def _figures(text: str, place: Place) -> Iterator[Secret]:
    """Make the amounts that stand in a private note; a bare four-figure number may be a year."""
    whole = plain(text)
    for key, start, end in numbers_in(whole):
        written, figures = whole[start:end], len(key.replace(".", ""))
        year = figures == SIGNIFICANT_MIN and written.isdigit()
        if figures >= SIGNIFICANT_MIN and not year and key[0] != "=":
            yield Secret(Sort.AMOUNT, written, str(place), (key,))


def _amount(money: Money, where: str) -> Iterator[Secret]:
    """Make an amount of four or more significant digits, without its sign."""
    keys = amount_keys(money)
    if keys:
        yield Secret(Sort.AMOUNT, f"{abs(money).grouped} {money.currency}", where, keys)


def _names(text: str, place: Place, known: _Known) -> Iterator[Secret]:
    """Make a name: the whole of it, and of people and firms its parts that tell who it is."""
    whole = plain(text)
    where = str(place)
    if _folded(whole) in known.names:
        return
    if len(whole) > 1:
        yield Secret(Sort.NAME, whole, where, (whole,), exact=len(whole) <= _SHORT_NAME)
    if place.kind == "product":
        return
    for piece in map(plain, _CONTACTS.split(text)):
        if len(piece) >= _WORD_MIN and piece != whole:
            yield Secret(Sort.NAME, piece, where, (piece,), part_of=whole)
        for word in (word for word, _, _ in words_in(piece) if word != piece):
            named = place.path[-1] == "name" or word[0].isupper()
            telling = len(word) >= _WORD_MIN and word.isalpha() and named
            if telling and word.casefold() not in known.words:
                yield Secret(Sort.NAME, word, where, (word,), exact=True, part_of=piece)


def _notes(text: str, place: Place, known: _Known) -> Iterator[Secret]:
    """Make a note of twelve signs or more, and each line or sentence of it that is as long.

    Work is often called the same in private and in public; a private note is never public.
    """
    whole, where = plain(text), str(place)
    public = known.texts if place.path[-1] != "private_note" else frozenset()
    parts = [whole, *map(plain, _SENTENCES.split(text))]
    for part in dict.fromkeys(parts) if _folded(whole) not in public else ():
        none = len(part) < NOTE_MIN or _NO_NOTE.fullmatch(part) or _folded(part) in public
        if not none:
            inside = "" if part == whole else whole
            yield Secret(Sort.NOTE, part, where, (_folded(part),), part_of=inside)


_Found = Iterator[tuple[Secret, int, int]]


@dataclass(slots=True)
class _Index:
    """Everything that is sought, by what a look at the text gives."""

    amounts: dict[str, list[Secret]] = field(default_factory=dict)
    names: dict[str, list[tuple[list[str], Secret]]] = field(default_factory=dict)
    notes: dict[str, dict[int, dict[str, list[Secret]]]] = field(default_factory=dict)
    degrees: dict[int, list[tuple[Decimal, Secret]]] = field(default_factory=dict)

    def add(self, secret: Secret) -> None:
        """Take one more."""
        for sought in secret.sought:
            match secret.what:
                case Sort.AMOUNT:
                    self.amounts.setdefault(sought, []).append(secret)
                case Sort.NAME:
                    words = [word for word, _, _ in words_in(sought)]
                    for first in words[:1]:
                        self.names.setdefault(first.casefold(), []).append((words, secret))
                case Sort.NOTE:
                    alike = self.notes.setdefault(sought[:_START], {})
                    alike.setdefault(len(sought), {}).setdefault(sought, []).append(secret)
                case Sort.COORDINATES:
                    degrees = Decimal(sought)
                    step = int(degrees / NEAR_DEGREES)
                    for near in (step - 1, step, step + 1):
                        self.degrees.setdefault(near, []).append((degrees, secret))


def search(outputs: Mapping[str, Sequence[str]], secrets: Sequence[Secret]) -> list[Hit]:
    """Find private things in the texts of some outputs: one hit for each output and thing.

    A part of a name or a note that stands there whole is not told again.
    """
    index = _Index()
    for secret in secrets:
        index.add(secret)
    order = {secret: number for number, secret in enumerate(secrets)}
    hits = []
    for output, texts in outputs.items():
        found = _around(_BETWEEN.join(texts), index)
        whole = {secret.text for secret in found}
        told = sorted((each for each in found if each.part_of not in whole), key=order.__getitem__)
        hits += [Hit(output, secret, found[secret]) for secret in told]
    return hits


def _around(text: str, index: _Index) -> dict[Secret, str]:
    """Search one text; give what was found with what stands around it first."""
    found: dict[Secret, str] = {}
    whole = plain(without_data(text))
    bare = without_proofs(whole)
    for seen, finds in (
        (bare, _amounts_in(bare, index)),
        (bare, _names_in(bare, index)),
        (bare, _places_in(bare, index)),
        (whole, _notes_in(whole, index)),
    ):
        for secret, start, end in finds:
            if secret not in found:
                last = min(end, start + 2 * AROUND) + AROUND
                found[secret] = seen[max(0, start - AROUND) : last].strip()
    return found


def _amounts_in(text: str, index: _Index) -> _Found:
    """Find amounts in any form that money is written in."""
    for key, start, end in numbers_in(text) if index.amounts else ():
        for secret in index.amounts.get(key, ()):
            if in_money_form(text, key, start, end):
                yield secret, start, end


def _names_in(text: str, index: _Index) -> _Found:
    """Find names by whole words, whatever signs stand between those."""
    words = words_in(text) if index.names else []
    for at, (word, start, _) in enumerate(words):
        for name, secret in index.names.get(word.casefold(), ()):
            there = [each[0] for each in words[at : at + len(name)]]
            if there in _written(name) or (not secret.exact and _same(there, name)):
                yield secret, start, words[at + len(name) - 1][2]


def _written(name: list[str]) -> tuple[list[str], ...]:
    """Give a name as it is written: as it stands, with capitals, all in capitals."""
    if sum(map(len, name)) <= _SHORT_NAME:
        return (name,)
    return name, [word.capitalize() for word in name], [word.upper() for word in name]


def _same(one: Sequence[str], other: Sequence[str]) -> bool:
    """Compare words without regard to capitals."""
    return [each.casefold() for each in one] == [each.casefold() for each in other]


def _places_in(text: str, index: _Index) -> _Found:
    """Find what lies within 0.002 degrees of a private latitude or longitude."""
    for degrees, start, end in degrees_in(text) if index.degrees else ():
        for private, secret in index.degrees.get(int(degrees / NEAR_DEGREES), ()):
            if abs(private - degrees) <= NEAR_DEGREES:
                yield secret, start, end


def _notes_in(text: str, index: _Index) -> _Found:
    """Find notes without regard to blanks and capitals: a PDF loses or adds blanks."""
    folded = text.casefold()
    bare = folded.replace(" ", "")
    starts: list[int] = []
    for at in range(len(bare) - _START + 1) if index.notes else ():
        alike = index.notes.get(bare[at : at + _START])
        for length, notes in alike.items() if alike else ():
            for secret in notes.get(bare[at : at + length], ()):
                starts = starts or [place for place, sign in enumerate(folded) if sign != " "]
                yield secret, starts[at], starts[at + length - 1] + 1
