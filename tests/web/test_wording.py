"""What a sentence says by a command, a page says by its own places."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import recondition
from recondition.web.wording import PLACES, on_page
from tests.web.visitors import post, post_json, signed_in

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recondition.book.engine import Book

ROOMS = Path(recondition.__file__).parent
TYPED = re.compile(r"'recondition [a-z]|(?<![\w-])--[a-z]")
# Names of formats, and what only the start of the server or a buyer's copy says.
NOT_SAID = re.compile(r"recondition/(cli|history|web/(wording|serving|certificates|authority))\b")


def sentences() -> Iterator[str]:
    """Give every sentence of the program, what is put into it left out, that names a command."""
    for file in sorted(ROOMS.rglob("*.py")):
        if NOT_SAID.search(file.as_posix()):
            continue
        nodes = list(ast.walk(ast.parse(file.read_text(encoding="utf-8"))))
        parts = {
            id(part) for node in nodes if isinstance(node, ast.JoinedStr) for part in node.values
        }
        yield from (
            text for node in nodes if id(node) not in parts and TYPED.search(text := _text(node))
        )


def _text(node: ast.AST) -> str:
    """Give the words of a text in the source."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(_text(part) or "X" for part in node.values)
    return ""


def test_no_sentence_of_the_program_names_a_command_on_a_page() -> None:
    found = list(sentences())
    assert len(found) > 40
    assert [said for said in map(on_page, found) if TYPED.search(said)] == []


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("Let it run, or drop it with 'recondition clock drop WHY'.",
         "Let it run, or drop it with 'Drop it' on the bench."),
        ("Lines: 'recondition post list VEHICLE'. Else.", "Lines: the vehicle's ledger. Else."),
        ("It is so. 'recondition check' says more.",
         "It is so. A check at the machine that keeps the book says more."),
        ("Set it right: recondition book set 'clock set right' 2031-03-04T17:30:00.5. Or not.",
         "Set it right: use a command at the machine that keeps the book. Or not."),
        ("Note the day: 'recondition stock container', --emptied-on.",
         "Note the day: the form 'containers'."),
        ("Add one to the sheet 'rates' (or 'recondition person rate') and try again.",
         "A dealer or bookkeeper enters one in the form 'rates'; then try again."),
        ("'K-99' is not on the sheet film readings, nor in the book.",
         "'K-99' is not among the film readings in the book."),
        ("Did you mean 'K-9'? Correct it, or add that row.",
         "Did you mean 'K-9'? Correct it, or enter it first."),
        ("--at", "at"),
        ("with --density-g-ml", "with 'density g ml'"),
        ("a car -- and its words", "a car -- and its words"),
        ("made by recondition", "made by recondition"),
    ],
)  # fmt: skip
def test_a_command_is_said_by_its_place(typed: str, said: str) -> None:
    assert on_page(typed) == said


def test_refusals_of_pages_name_pages(shop_book: Book) -> None:
    client = signed_in(shop_book)
    page = post(client, "/bench/clock/stop", key="k").get_data(as_text=True)
    assert PLACES["clock start"].replace("'", "&#39;") in page
    answer = post_json(client, "/bench/clock/stop", key="k")
    assert PLACES["clock start"] in answer.get_json()["todo"]
