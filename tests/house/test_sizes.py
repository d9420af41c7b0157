"""Files and functions stay small enough to be read at once."""

from __future__ import annotations

from statistics import median

from tests.house.tree import PACKAGE, functions, lines_of, modules, tracked

FILE_LINES_MAX = 400
FUNCTION_LINES_MAX = 70


def test_no_file_is_long() -> None:
    """Migrations are left out: each lays out tables once and is never edited again."""
    counted = {
        path: len(path.read_text(encoding="utf-8").splitlines())
        for path in tracked()
        if path.suffix in (".py", ".js", ".css") and "migrations" not in path.parts
    }
    assert {path: lines for path, lines in counted.items() if lines > FILE_LINES_MAX} == {}


def test_the_middle_file_has_about_120_lines() -> None:
    """Rooms' own one-line modules are left out."""
    counted = [len((PACKAGE / name).read_text(encoding="utf-8").splitlines()) for name in modules()]
    assert 60 <= median(lines for lines in counted if lines > 1) <= 150


def test_functions_are_short() -> None:
    counted = {
        f"{name}:{node.name}": lines_of(node)
        for name, tree in modules().items()
        for node in functions(tree)
    }
    assert {name: lines for name, lines in counted.items() if lines > FUNCTION_LINES_MAX} == {}
    assert median(counted.values()) < 10
