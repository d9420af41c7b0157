"""The quick way of writing canonical text gives what the library for RFC 8785 gives."""

from __future__ import annotations

import json
from typing import Any

import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from recondition.ledger.chain import written

_NAMES = st.text(alphabet=st.characters(codec="utf-8"), max_size=8)
_PLAIN = st.recursive(
    st.booleans() | st.text(alphabet=st.characters(codec="utf-8"), max_size=12),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(_NAMES, inner, max_size=4),
    max_leaves=12,
)


@given(_PLAIN)
def test_any_plain_value_is_written_as_the_library_writes_it(value: Any) -> None:
    assert written(value) == rfc8785.dumps(value).decode()


def test_signs_that_are_written_otherwise_in_other_texts() -> None:
    for sign in ('"', "\\", "/", "\x7f", "\x00", "\n", "\u20ac", "\u2028", "\U0001f600", "<"):
        text = written({"b": sign, "a": [sign, True]})
        assert text == rfc8785.dumps({"b": sign, "a": [sign, True]}).decode()
        assert json.loads(text)["b"] == sign


def test_names_stand_in_the_order_of_their_code_units() -> None:
    """RFC 8785, 3.2.3: by UTF-16 code units, so a sign beyond U+FFFF comes before U+FB33."""
    assert written({"\ufb33": "1", "\U0001f600": "2"}) == '{"\U0001f600":"2","\ufb33":"1"}'
