"""What stands in the tree in words: docstrings, no stubs, our own vocabulary."""

from __future__ import annotations

import ast
import re
from typing import TYPE_CHECKING

import pytest

from tests.errors.test_cases import every_refusal
from tests.house.tree import ROOT, Function, functions, modules, names, tracked

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

TEXT = {
    ".py",
    ".md",
    ".toml",
    ".j2",
    ".css",
    ".js",
    ".svg",
    ".typ",
    ".mako",
    ".txt",
    ".csv",
    ".json",
    "",
}
# The brackets keep this file from holding what it looks for.
STUBS = re.compile(r"\b(?:TO[D]O|FIX[M]E|XX[X]|HAC[K])\b")
MACHINE = re.compile(
    r"(?<![\w.])/(?:hom[e]|roo[t]|User[s]|wor[k]|tm[p])/\w"
    r"|index[-]url|pyp[i]\.|artifactor[y]|localhos[t]:\d"
)
STATES = re.compile(r"""["'](?:red|amber|green|yellow)["']""", re.IGNORECASE)

# A published table of currencies has this code; a broken workbook uses it.
CURRENCY_WITHOUT_AMOUNTS = ("tests/data/", "tests/intake/")


def _texts() -> Iterator[tuple[Path, str]]:
    for path in tracked():
        if path.suffix in TEXT:
            yield path.relative_to(ROOT), path.read_text(encoding="utf-8")


def _public(tree: ast.Module) -> Iterator[ast.ClassDef | Function]:
    """Give public classes and functions of a module and public methods of its classes."""
    for node in tree.body:
        if isinstance(node, ast.ClassDef | Function) and not node.name.startswith("_"):
            yield node
            if isinstance(node, ast.ClassDef):
                methods = (inner for inner in node.body if isinstance(inner, Function))
                yield from (inner for inner in methods if not inner.name.startswith("_"))


@pytest.mark.parametrize("module", names())
def test_every_public_thing_has_a_docstring(module: str) -> None:
    tree = modules()[module]
    assert ast.get_docstring(tree)
    assert [node.name for node in _public(tree) if not ast.get_docstring(node)] == []


def test_every_refusal_has_a_sentence_of_its_own() -> None:
    sentences = [(name, refusal.__doc__) for name, refusal in every_refusal().items()]
    assert [name for name, words in sentences if not words or not words.strip().endswith(".")] == []
    first = [str(words).strip().splitlines()[0] for _, words in sentences]
    assert sorted(first) == sorted(set(first))


def test_nothing_is_left_to_be_done() -> None:
    for path, text in _texts():
        found = STUBS.findall(text)
        if path.as_posix().startswith(CURRENCY_WITHOUT_AMOUNTS):
            found = [word for word in found if word != "XX" + "X"]
        assert not found, path


def test_nothing_is_a_stub() -> None:
    """Only a migration refuses to run backwards; posted records cannot be taken apart."""
    for module, tree in modules().items():
        raised = [ast.unparse(n.exc) for n in ast.walk(tree) if isinstance(n, ast.Raise) and n.exc]
        assert not [name for name in raised if name.startswith("NotImplemented")], module
        bodies = [node.body for node in functions(tree)]
        assert not [body for body in bodies if isinstance(body[-1], ast.Pass)], module


def test_no_file_names_a_machine_or_a_registry() -> None:
    assert [str(path) for path, text in _texts() if MACHINE.search(text)] == []


def test_states_are_words_not_lights() -> None:
    """The tree has no list of forbidden words; states of work and findings are never lights."""
    ours = [
        (path, text) for path, text in _texts() if path.parts[0] in {"recondition", "templates"}
    ]
    assert [str(path) for path, text in ours if STATES.search(text)] == []
