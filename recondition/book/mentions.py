"""Where else a name stands: in free texts, which can be erased, and in what is fixed."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from recondition.book.tables import entity, free_text, record
from recondition.ledger import chain

_SHORTEST_WORD = 3
_ROWS = 500


@dataclass(frozen=True, slots=True)
class Mention:
    """One place in which a name stands.

    ``sure`` is whether the whole name (or contact) stands there, not one word of it alone;
    ``fixed`` whether it is no free text and so stays for good.
    """

    kind: str
    ref: str
    version: int
    record: str
    field: str
    sure: bool
    fixed: bool = False


class Names:
    """What somebody is called, to be looked for as whole words in any capitals."""

    def __init__(self, texts: Iterable[str], ref: str = "") -> None:
        """Take names and contacts whole and, not as surely, their longer words and the ref."""
        whole = {text for text in map(_plain, texts) if text}
        words = {word for text in whole for word in re.findall(r"\w+", text)}
        longer = {word for word in words if len(word) >= _SHORTEST_WORD and word.isalpha()}
        self._sure = _pattern(whole)
        self._perhaps = _pattern(longer)
        self._ref = re.compile(_bounded(re.escape(ref))) if ref else None

    def found_in(self, text: str) -> bool | None:
        """Tell of a text whether it holds the name for sure (True), perhaps (False) or not."""
        plain = _plain(text)
        if self._sure and self._sure.search(plain):
            return True
        perhaps = self._perhaps and self._perhaps.search(plain)
        return False if perhaps or (self._ref and self._ref.search(plain)) else None


def _plain(text: str) -> str:
    """Write a text with one blank between its words and each sign in its usual form."""
    return " ".join(unicodedata.normalize("NFKC", text).split())


def _bounded(inner: str) -> str:
    """Write a pattern that matches no part of a longer word."""
    return rf"(?<!\w)(?:{inner})(?!\w)"


def _pattern(texts: Iterable[str]) -> re.Pattern[str] | None:
    """Make a pattern that finds any of some texts."""
    found = "|".join(re.escape(text) for text in sorted(texts, key=len, reverse=True))
    return re.compile(_bounded(found), re.IGNORECASE) if found else None


def names_of(conn: Connection, entity_id: str, ref: str) -> Names:
    """Give what a person or supplier is or was called, in every version that still says so."""
    query = (
        select(free_text.c.content)
        .join(record, record.c.id == free_text.c.record_id)
        .where(record.c.entity == entity_id, free_text.c.field.in_(("name", "contact")))
    )
    return Names(conn.execute(query).scalars(), ref)


def mentions(conn: Connection, names: Names, apart: str) -> list[Mention]:
    """List where names stand besides the record ``apart`` itself, the sure ones first."""
    found = [*_in_texts(conn, names, apart), *_in_what_is_fixed(conn, names, apart)]
    return sorted(found, key=lambda m: (m.fixed, not m.sure, m.kind, m.ref, m.version, m.field))


def _in_texts(conn: Connection, names: Names, apart: str) -> Iterator[Mention]:
    """Look through the free texts of all other records."""
    query = (
        select(record.c.kind, entity.c.ref, record.c.version, record.c.id, free_text.c.field,
               free_text.c.content)
        .join(record, record.c.id == free_text.c.record_id)
        .join(entity, entity.c.id == record.c.entity)
        .where(record.c.entity != apart)
        .execution_options(yield_per=_ROWS)
    )  # fmt: skip
    for row in conn.execute(query):
        sure = names.found_in(row.content)
        if sure is not None:
            yield Mention(row.kind, row.ref, row.version, row.id, row.field, sure)


def _in_what_is_fixed(conn: Connection, names: Names, apart: str) -> Iterator[Mention]:
    """Look through the texts that records hold themselves, such as a designation."""
    query = (
        select(record.c.kind, entity.c.ref, record.c.version, record.c.id, record.c.entity,
               record.c.canonical)
        .join(entity, entity.c.id == record.c.entity)
        .execution_options(yield_per=_ROWS)
    )  # fmt: skip
    for row in conn.execute(query):
        payload = chain.read(row.canonical)
        key = {"key": payload["key"]}
        # Of the record that it is about itself, only its key can name them.
        for field, text in leaves(key if row.entity == apart else payload["entry"] | key):
            if names.found_in(text):
                yield Mention(row.kind, row.ref, row.version, row.id, field, sure=True, fixed=True)


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, str]]:  # noqa: ANN401 - any plain value
    """Give every text in a plain value with its path; the places of a list have no number."""
    if isinstance(value, str):
        yield path, value
    elif isinstance(value, dict):
        for name, inner in value.items():
            yield from leaves(inner, f"{path}.{name}" if path else name)
    elif isinstance(value, list):
        for inner in value:
            yield from leaves(inner, path)
