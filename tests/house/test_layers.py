"""Who may import whom: the table of rooms, held by walking every import."""

from __future__ import annotations

import ast

import pytest

from tests.house.tree import imported, modules, names, room_of

ROOTS = {"errors", "fields", "resources", "__init__"}
PURE = ("amounts", "condition", "materials", "ledger", "worth", "accounts", "history")
MAY_IMPORT: dict[str, set[str]] = {
    "amounts": set(),
    "condition": {"amounts"},
    "materials": {"amounts"},
    "ledger": {"amounts", "condition", "materials"},
    "worth": {"amounts", "condition", "ledger"},
    "accounts": {"amounts", "ledger"},
    "history": {"amounts", "condition", "ledger"},
    "book": set(PURE),
    "intake": {*PURE, "book"},
    "reports": {*PURE, "book"},
    "web": {*PURE, "book", "intake", "reports"},
    "cli": {*PURE, "book", "intake", "reports", "web"},
    **{root: set() for root in ROOTS},
}

EDGE_LIBRARIES = {
    "alembic", "click", "flask", "jinja2", "matplotlib", "numpy", "openpyxl", "pandas",
    "rich", "scipy", "sqlalchemy", "typst",
}  # fmt: skip
IMPURE = {
    "asyncio", "io", "logging", "os", "pathlib", "random", "secrets", "shutil", "socket",
    "sqlite3", "subprocess", "sys", "tempfile", "threading", "time", "uuid", "zoneinfo",
}  # fmt: skip
# A draft names the file to be kept; Path is the type of that name, nothing is opened.
NAMED_AS_TYPE = {("ledger/drafts.py", "pathlib")}
# Statistics are floats, shown and never posted. A search has a stop-watch, not a clock: how long
# it may take comes in as an argument; its random choices have a fixed seed.
ALLOWED = NAMED_AS_TYPE | {
    ("worth/risk.py", "numpy"),
    ("worth/comparables.py", "numpy"),
    ("worth/comparables.py", "scipy"),
    ("worth/search.py", "time"),
    ("worth/several.py", "time"),
    ("worth/several.py", "random"),
    ("worth/filling.py", "random"),
}


def _ours(module: str) -> set[str]:
    return {name for name in imported(modules()[module]) if name.startswith("recondition.")}


@pytest.mark.parametrize("module", names())
def test_a_room_imports_only_what_its_layer_may(module: str) -> None:
    room = room_of(module)
    wrong = [
        name
        for name in _ours(module)
        if name.split(".")[1] not in {room, *ROOTS, *MAY_IMPORT[room]}
    ]
    assert not wrong


def test_every_room_has_its_row_in_the_table() -> None:
    assert {room_of(module) for module in modules()} == set(MAY_IMPORT)


@pytest.mark.parametrize("module", [name for name in names() if room_of(name) in PURE])
def test_the_first_seven_rooms_are_pure(module: str) -> None:
    tops = {name.split(".")[0] for name in imported(modules()[module])}
    wrong = tops & (EDGE_LIBRARIES | IMPURE)
    assert {name for name in wrong if (module, name) not in ALLOWED} == set()
    called = {ast.unparse(n.func) for n in ast.walk(modules()[module]) if isinstance(n, ast.Call)}
    assert not {c for c in called if c in {"open", "print", "input"}}
    clocks = (".now", ".utcnow", ".today", ".read_text", ".write_text", ".read_bytes")
    assert not [c for c in called if c.endswith(clocks)]
    assert room_of(module) == "worth" or "float" not in called


def test_only_the_book_reaches_the_database() -> None:
    """Other rooms take a connection from the book and pass it on; ``book.engine`` names it."""
    for module, tree in modules().items():
        names = {n for n in imported(tree) if n.startswith(("sqlalchemy", "alembic"))}
        if room_of(module) != "book":
            assert not names, module
