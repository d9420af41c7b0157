"""Entries to plain text values and back, and to the names of table columns.

Everything the chain holds is text, true/false, lists and objects: every number is written
as a string (RFC 8785 would otherwise pass it through a binary float). Free text leaves the
entry here and is kept beside it.
"""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from recondition.amounts import Money, Quantity
from recondition.fields import Id, Words

T = TypeVar("T")

Plain = str | bool | list["Plain"] | dict[str, "Plain"]
PlainDict = dict[str, Plain]
Decoder = Callable[[Any], Any]


# Worked out once a class: every record that is written or read asks for them.
_HINTS: dict[type, dict[str, Any]] = {}
_WORDS: dict[type, tuple[str, ...]] = {}
_IDS: dict[type, tuple[str, ...]] = {}
_PLAIN: dict[type, tuple[str, ...]] = {}
_ABSENT: dict[type, dict[str, Any]] = {}
_DECODERS: dict[type, dict[str, Decoder]] = {}


def hints(cls: type) -> dict[str, Any]:
    """Give the resolved types of a dataclass's fields, None-able ones without the None."""
    if cls not in _HINTS:
        _HINTS[cls] = {name: _without_none(hint) for name, hint in get_type_hints(cls).items()}
    return _HINTS[cls]


def _without_none(hint: Any) -> Any:  # noqa: ANN401 - a type expression has no narrower type
    """Turn ``X | None`` into ``X``."""
    if get_origin(hint) in (Union, types.UnionType):
        (kept,) = [arg for arg in get_args(hint) if arg is not type(None)]
        return kept
    return hint


def word_fields(cls: type) -> tuple[str, ...]:
    """Name the free-text fields of an entry class."""
    if cls not in _WORDS:
        _WORDS[cls] = tuple(name for name, hint in hints(cls).items() if hint is Words)
    return _WORDS[cls]


def id_fields(cls: type) -> tuple[str, ...]:
    """Name the fields of an entry class that name other records, one or several."""
    if cls not in _IDS:
        several = (tuple[Id, ...], tuple[Words, ...])
        _IDS[cls] = tuple(n for n, h in hints(cls).items() if h is Id or h in several)
    return _IDS[cls]


def plain_number(number: Decimal | int) -> str:
    """Write a number exactly, without exponent and without trailing zeros."""
    if isinstance(number, int):
        return str(number)
    text = format(number, "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def encode(value: Any) -> Plain:  # noqa: ANN401, PLR0911 - one arm a kind of value
    """Turn one value into its plain form."""
    match value:
        case bool():
            return value
        case StrEnum():
            return value.value
        case str():
            return value
        case int() | Decimal():
            return plain_number(value)
        case Money():
            return {"minor": str(value.minor), "currency": value.currency}
        case Quantity():
            return {"number": plain_number(value.number), "unit": value.unit}
        case date():
            return value.isoformat()
        case tuple():
            return [encode(item) for item in value]
        case _ if dataclasses.is_dataclass(value):
            return encode_fields(value)
    message = f"no plain form for {type(value).__name__}"
    raise TypeError(message)


def encode_fields(entry: Any) -> PlainDict:  # noqa: ANN401 - any entry class
    """Turn a dataclass into an object, without its free text and its empty fields."""
    pairs = ((name, getattr(entry, name)) for name in _plain_fields(type(entry)))
    return {name: encode(value) for name, value in pairs if value is not None and value != ()}


def _plain_fields(cls: type) -> tuple[str, ...]:
    """Name the fields of an entry class that hold no free text."""
    if cls not in _PLAIN:
        names = (field.name for field in dataclasses.fields(cls))
        _PLAIN[cls] = tuple(name for name in names if name not in word_fields(cls))
    return _PLAIN[cls]


def _absent(cls: type) -> dict[str, Any]:
    """Give what stands for each needed field of an entry class where it is not there."""
    if cls not in _ABSENT:
        words, known = word_fields(cls), hints(cls)
        _ABSENT[cls] = {
            f.name: "" if f.name in words else () if get_origin(known[f.name]) is tuple else None
            for f in dataclasses.fields(cls)
            if f.default is dataclasses.MISSING
        }
    return _ABSENT[cls]


def words_of(entry: Any) -> dict[str, str]:  # noqa: ANN401 - any entry class
    """Give the free texts of an entry by field name; empty ones are left out."""
    pairs = ((name, getattr(entry, name)) for name in word_fields(type(entry)))
    return {name: value for name, value in pairs if value}


def _decoder(hint: Any) -> Decoder:  # noqa: ANN401, PLR0911 - one arm a kind of value
    """Give what turns a plain value back into what a type says."""
    if hint in (Id, Words, str):
        return _as_it_is
    if hint in (bool, int, Decimal):
        return cast("Decoder", hint)
    if hint is date:
        return date.fromisoformat
    if hint is Money:
        return _money
    if hint is Quantity:
        return _quantity
    if get_origin(hint) is tuple:
        of_each = _decoder(get_args(hint)[0])
        return lambda plain: tuple(of_each(item) for item in plain)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return hint
    return lambda plain: decode_fields(hint, plain, {})


def _as_it_is(plain: Any) -> Any:  # noqa: ANN401 - a text
    return plain


def _money(plain: Any) -> Money:  # noqa: ANN401 - an object
    return Money(int(plain["minor"]), plain["currency"])


def _quantity(plain: Any) -> Quantity:  # noqa: ANN401 - an object
    return Quantity(Decimal(plain["number"]), plain["unit"])


def _decoders(cls: type) -> dict[str, Decoder]:
    """Give what reads each field of an entry class."""
    if cls not in _DECODERS:
        _DECODERS[cls] = {name: _decoder(hint) for name, hint in hints(cls).items()}
    return _DECODERS[cls]


def decode_fields(cls: type[T], plain: PlainDict, words: dict[str, str]) -> T:
    """Build an entry from its plain form and its free texts (erased ones are empty)."""
    known = _decoders(cls)
    values = {name: known[name](value) for name, value in plain.items() if name in known}
    return cls(**{**_absent(cls), **values, **words})


def flatten(plain: PlainDict) -> dict[str, str | bool]:
    """Name every value as its table column: ``cash.low.minor`` becomes ``cash_low_minor``.

    Lists stay out: they are kept as relations, shares or canonical text.
    """
    flat: dict[str, str | bool] = {}
    for name, value in plain.items():
        if isinstance(value, dict):
            inner = flatten(value)
            flat.update({f"{name}_{key}": item for key, item in inner.items()})
        elif not isinstance(value, list):
            flat[name] = value
    return flat
