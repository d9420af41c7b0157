"""JSON in its one form: what else there is of the same meaning is refused or told apart."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.history import strictly
from recondition.history.strictly import NotStrict

TEXTS = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
PLAIN = st.recursive(
    st.none() | st.booleans() | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4),
    max_leaves=12,
)

REFUSED = {
    '{"a": "1", "a": "2"}': "a name stands twice in one object",
    '{"b": {"a": [], "\\u0061": []}}': "a name stands twice in one object",
    "1.0": "it holds the number 1.0",
    "[1e2]": "it holds the number 1e2",
    "[-0.0]": "it holds the number -0.0",
    "NaN": "it holds the number NaN",
    "[Infinity]": "it holds the number Infinity",
    "[-Infinity]": "it holds the number -Infinity",
    '"\\ud83d"': "half a sign stands alone in it",
    '{"\\udc00": 1}': "half a sign stands alone in it",
    "": "it is no JSON",
    "{": "it is no JSON",
    "{'a': 1}": "it is no JSON",
    '{"a": 1,}': "it is no JSON",
    '{"a": 1} x': "it is no JSON",
    "\ufeff{}": "it is no JSON",
    '"a\tb"': "it is no JSON",
    "nan": "it is no JSON",
    "9" * 5000: "",
}


@pytest.mark.parametrize("text", REFUSED, ids=lambda text: text[:16].encode().hex())
def test_what_is_not_strict_is_refused_and_says_why(text: str) -> None:
    with pytest.raises(NotStrict) as raised:
        strictly.read(text)
    assert str(raised.value).startswith(REFUSED[text])
    assert str(raised.value)


@pytest.mark.parametrize("depth", [41, 2_000, 200_000])
@pytest.mark.parametrize("pair", ["[]", ('{"a":', "}")], ids=["lists", "objects"])
def test_what_is_nested_too_deeply_is_refused(depth: int, pair: tuple[str, str]) -> None:
    begin, end = pair
    text = begin * depth + ("1" if begin != "[" else "") + end * depth
    with pytest.raises(NotStrict, match="nested too deeply"):
        strictly.read(text)


def test_what_is_nested_less_is_read() -> None:
    found = strictly.read("[" * 40 + "]" * 40)
    assert json.dumps(found).count("[") == 40


@given(PLAIN)
def test_what_was_written_reads_back_and_is_plain(value: Any) -> None:
    for write in (strictly.pretty, strictly.embedded):
        assert strictly.read(write(value)) == value
    assert strictly.plain(value)


@given(PLAIN)
def test_within_a_page_no_sign_could_end_the_element(value: Any) -> None:
    text = strictly.embedded(value)
    assert not set("<>&\u2028\u2029\n") & set(text)
    assert strictly.embedded(strictly.read(text)) == text


@given(PLAIN)
def test_in_order_it_means_the_same_and_is_written_one_way(value: Any) -> None:
    found = strictly.ordered(value)
    assert found == value
    assert strictly.pretty(found) == strictly.pretty(json.loads(strictly.embedded(value)))


OTHERS = {
    "other blanks": '{"a": "x", "b": ["<"]}',
    "another order": '{\n  "b": [\n    "<"\n  ],\n  "a": "x"\n}\n',
    "another escape": '{\n  "a": "\\u0078",\n  "b": [\n    "<"\n  ]\n}\n',
    "no line end": '{\n  "a": "x",\n  "b": [\n    "<"\n  ]\n}',
    "another line end": '{\r\n  "a": "x",\r\n  "b": [\r\n    "<"\r\n  ]\r\n}\r\n',
}


@pytest.mark.parametrize("way", OTHERS)
def test_the_same_in_another_form_is_another_text(way: str) -> None:
    value = {"a": "x", "b": ["<"]}
    found = strictly.read(OTHERS[way])
    assert found == value
    assert strictly.pretty(strictly.ordered(found)) != OTHERS[way]
    assert strictly.embedded(found) == '{"a":"x","b":["\\u003c"]}'


@pytest.mark.parametrize("value", [1, 1.5, b"a", ("a",), {1: "a"}, ["a", {"b": 1}], {"a": {2}}])
def test_numbers_and_odd_things_are_not_plain(value: object) -> None:
    assert not strictly.plain(value)
