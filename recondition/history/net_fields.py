"""Every private field of a record, found by its types, so that a new field is private too."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, get_args

from recondition.amounts import Money, Quantity
from recondition.fields import Id
from recondition.history.evidence import is_listed
from recondition.history.public import PUBLIC
from recondition.ledger.codec import hints
from recondition.ledger.documents import Document
from recondition.ledger.drafts import Stored


@dataclass(frozen=True, slots=True)
class Place:
    """Where a private value stands: the record's kind and row name, and the field."""

    kind: str
    ref: str
    path: tuple[str, ...]

    def __str__(self) -> str:
        """Say it in words."""
        return f"{self.kind} {self.ref}, {' '.join(self.path).replace('_', ' ')}"

    def within(self, name: str) -> Place:
        """Give the place of a field inside this one."""
        return Place(self.kind, self.ref, (*self.path, name))


def private_in(record: Stored[Any]) -> Iterator[tuple[Place, Any]]:
    """Walk the private fields of a record and all that the book worked out for it.

    Gives amounts (Money) and texts with where they stand. A field counts as private unless the
    allow-list names it for the record's kind; of a file that is not handed out all of it does.
    """
    kept_back = isinstance(record.entry, Document) and not is_listed(record.entry)
    public = () if kept_back else PUBLIC.get(record.kind, ())
    kept = {name: item for name, item in _fields(record.entry) if name not in public}
    for named in (kept.items(), _fields(record.priced), _fields(record.booked)):
        for name, (hint, value) in named:
            yield from _leaves(Place(str(record.kind), record.ref, (name,)), hint, value)


def _fields(part: Any) -> list[tuple[str, tuple[Any, Any]]]:  # noqa: ANN401 - any dataclass
    """Give the fields of a dataclass by name: type and value; none of what is not there."""
    known = {} if part is None else hints(type(part))
    return [(name, (hint, getattr(part, name))) for name, hint in known.items()]


def _leaves(place: Place, hint: Any, value: Any) -> Iterator[tuple[Place, Any]]:  # noqa: ANN401
    """Walk down to amounts and texts; names of records and of fixed lists are none."""
    if isinstance(value, Quantity | StrEnum) or hint is Id:
        return
    match value:
        case Money() | str():
            yield place, value
        case tuple() | list() | frozenset():
            inner = (*get_args(hint), None)[0]
            for item in value:
                yield from _leaves(place, inner, item)
        case Mapping():
            for item in value.values():
                yield from _leaves(place, None, item)
        case _ if dataclasses.is_dataclass(value):
            for name, (each, item) in _fields(value):
                yield from _leaves(place.within(name), each, item)


def kept_amounts(text: str) -> list[Money]:
    """Give the amounts in a kept canonical text, such as that of a decision; else none."""
    objects: list[dict[str, Any]] = []

    def note(found: dict[str, Any]) -> dict[str, Any]:
        objects.append(found)
        return found

    if not text.startswith("{"):
        return []
    try:
        json.loads(text, object_hook=note)
    except (ValueError, RecursionError):
        return []
    moneys = (each for each in objects if set(each) == {"minor", "currency"})
    return [Money(int(each["minor"]), each["currency"]) for each in moneys]


def strings_in(value: Any) -> Iterator[str]:  # noqa: ANN401 - whatever a module or JSON holds
    """Give every text in nested containers, keys left out."""
    match value:
        case str():
            yield value
        case Mapping():
            for name, item in value.items():
                yield from () if str(name).startswith("__") else strings_in(item)
        case tuple() | list() | frozenset():
            for item in value:
                yield from strings_in(item)
