"""Hypothesis strategies for the entries of every kind of record."""

from __future__ import annotations

import dataclasses
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING, Any, get_args, get_origin

from hypothesis import strategies as st

from recondition.amounts import Money, Quantity
from recondition.fields import Id, Words
from recondition.ledger.codec import hints
from tests.strategies import decimals, monies, quantities

if TYPE_CHECKING:
    from recondition.book.kinds import Kind

# Texts as people type them: no lone surrogates (no encoding has them) and no zero
# character (PostgreSQL stores none).
TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20)
# An empty free text is no text: it is not stored, and reads back as none.
WORDS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=20)

PLAIN: dict[Any, st.SearchStrategy[Any]] = {
    Id: st.uuids().map(lambda drawn: drawn.hex),
    Words: WORDS,
    str: TEXT,
    bool: st.booleans(),
    int: st.integers(),
    Decimal: decimals(),
    date: st.dates(),
    Money: monies(),
    Quantity: quantities(),
}


def values(hint: Any) -> st.SearchStrategy[Any]:
    """Values of one field's type."""
    if hint in PLAIN:
        return PLAIN[hint]
    if get_origin(hint) is tuple:
        return st.lists(values(get_args(hint)[0]), max_size=3).map(tuple)
    if issubclass(hint, StrEnum):
        return st.sampled_from(list(hint))
    return entries(hint)


def entries(cls: type[Any]) -> st.SearchStrategy[Any]:
    """Entries of a class: each field drawn by its type, left out where it has a default."""
    given, left_out = {}, {}
    for field in dataclasses.fields(cls):
        drawn = values(hints(cls)[field.name])
        if field.default is dataclasses.MISSING:
            given[field.name] = drawn
        else:
            left_out[field.name] = drawn
    return st.fixed_dictionaries(given, optional=left_out).map(lambda drawn: cls(**drawn))


def entries_of(kind: Kind) -> st.SearchStrategy[Any]:
    """Entries of one kind of record."""
    return entries(kind.entry)
