"""What one record says to whoever is asking: its fields, its money, its chain, how to undo it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from recondition.amounts import Money
from recondition.book import one_record, reading
from recondition.book.context import NotThere
from recondition.book.kinds import KINDS
from recondition.book.undone import undone_by
from recondition.errors import Refused
from recondition.intake.sheets import sheet_of_kind
from recondition.intake.spec import Parse
from recondition.intake.written import ids_named, texts_of
from recondition.ledger.codec import encode, word_fields, words_of
from recondition.reports.table import CellKind, Column, Table
from recondition.web import permits
from recondition.web.taking_back import Undo, undo_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from recondition.book import Connection
    from recondition.book.one_record import Named, Whole
    from recondition.book.roles import Right
    from recondition.intake.spec import ColumnSpec
    from recondition.ledger.drafts import Stored

TEXT_MAX = 600
_ERASED = "(erased)"
_MOMENT = re.compile(r"(\d{4}-\d\d-\d\d)T(\d\d:\d\d)(?::\d\d(?:\.\d+)?)?(Z|[+-]\d\d:\d\d)")


class NothingThere(Refused):
    """A record that is not in the book, or not for the role of the login."""

    http_status = 404

    def __init__(self, kind: str, ref: str) -> None:
        """Name what was asked for."""
        super().__init__(
            f"there is no {kind} {ref!r} that this login may see",
            todo="Check the spelling, or look for it with the field 'Find'.",
        )


@dataclass(frozen=True, slots=True)
class Fact:
    """One field of a record in words; ``links`` are the records that the text names."""

    field: str
    heading: str
    text: str
    links: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Change:
    """What a version changed in one field; '' where there is or was nothing."""

    field: str
    heading: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A record as somebody may see it. ``money`` and ``shares`` are empty for who sees none.

    ``changes`` says by its number what each version but the first changed.
    """

    whole: Whole
    facts: tuple[Fact, ...]
    money: tuple[Fact, ...]
    shares: Table | None
    names: tuple[Named, ...]
    named_by: tuple[Named, ...]
    changes: dict[int, tuple[Change, ...]]
    undo: Undo
    sheet: str
    author: str
    shows_file: bool

    @property
    def stored(self) -> Stored[Any]:
        """The record in its newest version."""
        return self.whole.stored


def view_of(conn: Connection, kind: str, ref: str, rights: Iterable[Right]) -> Seen:
    """Read one record for whoever has some rights. Raises NothingThere, SeveralLines."""
    held = frozenset(rights)
    try:
        whole = one_record.found(conn, kind.replace("-", " "), ref)
    except NotThere:
        raise NothingThere(kind, ref) from None
    stored = whole.stored
    if not permits.may_see(stored.kind, held):
        raise NothingThere(kind, ref)
    if stored.kind == "document" and not permits.may_see_document(stored.entry, held):
        raise NothingThere(kind, ref)
    money = permits.sees_money(held)
    return Seen(
        whole=whole,
        facts=(*facts_of(conn, stored, held), *_amount_of(stored)),
        money=tuple(_money_of(stored)) if money else (),
        shares=_shares(conn, stored) if money else None,
        names=_allowed(conn, whole.names, held),
        named_by=_allowed(conn, whole.named_by, held),
        changes=_changes(conn, stored, held) if stored.version > 1 else {},
        undo=undo_of(stored, _taken_back(conn, whole), held),
        sheet=_sheet_name(stored.kind),
        author=whole.versions[-1].author,
        shows_file=whole.file is not None and whole.file.path.exists(),
    )


def _changes(
    conn: Connection, stored: Stored[Any], held: frozenset[Right]
) -> dict[int, tuple[Change, ...]]:
    """Say what each version changed, of what some rights are enough to see."""
    found: dict[int, tuple[Change, ...]] = {}
    before: dict[str, Fact] | None = None
    for each in reading.versions_of(conn, stored.id):
        shut = each.kind == "document" and not permits.may_see_document(each.entry, held)
        facts = {} if shut else {fact.field: fact for fact in facts_of(conn, each, held)}
        if before is not None:
            found[each.version] = tuple(_between(before, facts))
        before = facts
    return found


def _between(before: dict[str, Fact], after: dict[str, Fact]) -> Iterator[Change]:
    """Give the fields in which two versions differ, in the order of the sheet."""
    for field in dict.fromkeys([*after, *before]):
        was, now = before.get(field), after.get(field)
        texts = [each.text if each else "" for each in (was, now)]
        heading = (now or was or Fact(field, field, "")).heading
        if texts[0] != texts[1]:
            yield Change(field, heading, *texts)


def _sheet_name(kind: str) -> str:
    """Name the sheet of a kind, '' where it has none."""
    try:
        return sheet_of_kind(kind).name
    except KeyError:
        return ""


def moment_text(text: str) -> str:
    """Write a moment as people read it, "2031-03-04 17:30 +01:00"; any other text stays."""
    found = _MOMENT.fullmatch(text)
    return " ".join(found.groups()) if found else text


def heading_of(kind: str, field: str) -> str:
    """Name a field of a kind as its sheet does, else by its own name."""
    name = _sheet_name(kind)
    columns = sheet_of_kind(kind).columns if name else ()
    headings = [c.heading for c in columns if c.field.partition(".")[0] == field]
    return headings[0] if headings else field.replace("_", " ")


def _allowed(conn: Connection, named: Iterable[Named], held: frozenset[Right]) -> tuple[Named, ...]:
    """Keep the records that some rights are enough to see, each kind in the words of its field."""
    kept = [each for each in named if permits.may_see(each.kind, held)]
    refs = {each.ref for each in kept if each.kind == "document"}
    seen = documents_seen(conn, refs, held)
    return tuple(each for each in kept if each.kind != "document" or each.ref in seen)


def documents_seen(conn: Connection, refs: Iterable[str], held: frozenset[Right]) -> set[str]:
    """Give those of some documents, by ref, that some rights are enough to see."""
    ids = list(reading.ids_by_ref(conn, "document", refs).values())
    found = reading.stored(conn, "document", ids=ids) if ids else []
    return {each.ref for each in found if permits.may_see_document(each.entry, held)}


def _taken_back(conn: Connection, whole: Whole) -> str:
    """Give the ref of what took a record back, '' where it stands."""
    stored = whole.stored
    if stored.reversed_by:
        return reading.names_of(conn, [stored.reversed_by]).get(stored.reversed_by, "")
    for each in whole.named_by:
        if each.kind == "stock reversal" and each.field == "reverses":
            return each.ref
    return undone_by(conn).get(stored.id, "")


def facts_of(conn: Connection, stored: Stored[Any], held: frozenset[Right]) -> Iterator[Fact]:
    """Give what a record says: by the headings of its sheet, else by the names of its fields."""
    shut = permits.hidden(stored.kind, held)
    if not _sheet_name(stored.kind):
        yield from _bare_facts(conn, stored, held, shut)
        return
    sheet = sheet_of_kind(stored.kind)
    names = reading.names_of(conn, ids_named(sheet, stored.entry))
    texts = texts_of(sheet, stored.ref, stored.entry, names, reading.settings_of(conn))
    gone = {f for f in word_fields(KINDS[stored.kind].entry) if getattr(stored.entry, f) == ""}
    for column in sheet.columns:
        if column.field in shut or column.field == "ref":
            continue
        text = texts.get(column.field, _ERASED if column.field in gone else "")
        if text:
            yield Fact(column.field, column.heading, text, tuple(_links(column, text)))


def _links(column: ColumnSpec, text: str) -> Iterator[tuple[str, str]]:
    """Give kind and ref of each record that a cell names."""
    kind = column.target
    if column.parse is Parse.TO:
        yield kind, text
    elif column.parse in (Parse.TO_MANY, Parse.LINKS):
        for part in text.split("; "):
            weighted = column.parse is Parse.LINKS and " " in part
            yield kind, part.rpartition(" ")[0] if weighted else part


def _bare_facts(
    conn: Connection, stored: Stored[Any], held: frozenset[Right], shut: frozenset[str]
) -> Iterator[Fact]:
    """Give the fields of a record that no sheet has; amounts for whoever sees money."""
    money = permits.sees_money(held)
    entry = stored.entry
    plain = {f: encode(getattr(entry, f)) for f in _fields(entry) if getattr(entry, f) is not None}
    named = reading.names_of(conn, set(one_record.ids_in(plain)))
    for field, value in {**plain, **words_of(entry)}.items():
        if field in shut or value in ("", []) or (_has_money(value) and not money):
            continue
        text = _plain_text(value, named)
        shown = text if len(text) <= TEXT_MAX else f"{text[:TEXT_MAX]}… ({len(text):,} signs)"
        yield Fact(field, field.replace("_", " "), shown)


def _fields(entry: Any) -> tuple[str, ...]:  # noqa: ANN401 - any entry class
    """Name the fields of an entry."""
    return tuple(entry.__dataclass_fields__)


def _has_money(value: Any) -> bool:  # noqa: ANN401 - plain values nest
    """Tell whether an amount stands in a plain value."""
    if isinstance(value, dict):
        return "minor" in value or any(map(_has_money, value.values()))
    return isinstance(value, list) and any(map(_has_money, value))


def _plain_text(value: Any, named: Mapping[str, str]) -> str:  # noqa: ANN401 - one arm a kind of value
    """Write a plain value for people, refs in the place of ids."""
    match value:
        case bool():
            return "yes" if value else "no"
        case {"minor": minor, "currency": currency}:
            return Money(int(minor), currency).text
        case {"number": number, "unit": unit}:
            return f"{number} {unit}"
        case dict():
            return ", ".join(f"{k.replace('_', ' ')}: {_plain_text(v, named)}"
                             for k, v in value.items())  # fmt: skip
        case list():
            return "; ".join(_plain_text(item, named) for item in value)
    return named.get(value, str(value))


def _amount_of(stored: Stored[Any]) -> Iterator[Fact]:
    """Give what a use or a count came to, with its doubt."""
    priced = stored.priced
    if priced is None or priced.quantity is None or stored.kind not in ("consumable", "count"):
        return
    doubt = priced.measure.uncertainty if priced.measure else None
    text = f"{priced.quantity}" + (f" ± {doubt}" if doubt else "")
    yield Fact("taken", "taken from stock", text)


_PRICED = {
    "cost": "cost", "billed": "billed to the owner", "rate": "cost per hour", "tax": "tax",
    "tax_recovered": "tax that comes back", "period": "period",
}  # fmt: skip


def _money_of(stored: Stored[Any]) -> Iterator[Fact]:
    """Give what was worked out when a record was posted."""
    source = stored.priced or stored.booked
    if source is None:
        return
    for field in source.__dataclass_fields__:
        value = getattr(source, field)
        if field in ("shares", "measure", "quantity") or value is None:
            continue
        text = value.text if isinstance(value, Money) else str(value)
        yield Fact(field, _PRICED.get(field, field.replace("_", " ")), text)


def _shares(conn: Connection, stored: Stored[Any]) -> Table | None:
    """Show what each finding bears of a line."""
    if stored.priced is None or not stored.priced.shares:
        return None
    shares = stored.priced.shares
    names = reading.names_of(conn, {share.finding for share in shares})
    billed = any(share.billed is not None for share in shares)
    columns = [Column("ref", "Finding"), Column("weight", "Weight", CellKind.NUMBER),
               Column("cost", "Cost", CellKind.MONEY)]  # fmt: skip
    if billed:
        columns.append(Column("billed", "Billed", CellKind.MONEY))
    rows = tuple(
        (names.get(s.finding, ""), s.weight, s.cost, *((s.billed,) if billed else ()))
        for s in shares
    )
    return Table("What each finding bears", tuple(columns), rows)
