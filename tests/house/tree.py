"""Walks the tree for the tests of this folder."""

from __future__ import annotations

import ast
import subprocess
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "recondition"

Function = ast.FunctionDef | ast.AsyncFunctionDef


@cache
def names() -> list[str]:
    """Name every module of the package by its path in it, such as ``worth/terms.py``."""
    return [path.relative_to(PACKAGE).as_posix() for path in sorted(PACKAGE.rglob("*.py"))]


@cache
def modules() -> dict[str, ast.Module]:
    """Give every module of the package by its name; only a worker that looks reads them."""
    return {name: ast.parse((PACKAGE / name).read_text(encoding="utf-8")) for name in names()}


def room_of(module: str) -> str:
    """Give the room a module stands in; a module at the root is a room of its own."""
    return module.split("/", maxsplit=1)[0].removesuffix(".py")


def imported(tree: ast.AST) -> Iterator[str]:
    """Give every module or name that is imported anywhere, in functions too."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.module, "relative imports hide which room is meant"
            assert node.level == 0, "relative imports hide which room is meant"
            yield from (f"{node.module}.{name.name}" for name in node.names)


def functions(tree: ast.AST) -> list[Function]:
    """Give every function and method, from ``def`` to its last line."""
    return [node for node in ast.walk(tree) if isinstance(node, Function)]


def lines_of(node: Function) -> int:
    """Count the lines of a function."""
    assert node.end_lineno is not None
    return node.end_lineno - node.lineno + 1


def tracked() -> list[Path]:
    """Give the files that git keeps or would keep; all but caches where this is no clone."""
    if not (ROOT / ".git").exists():
        return [path for path in ROOT.rglob("*") if path.is_file() and not _passing(path)]
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return [path for name in listed.stdout.split("\0") if name and (path := ROOT / name).is_file()]


def _passing(path: Path) -> bool:
    """Tell whether a file is a cache, an environment or the demo's output."""
    parts = path.relative_to(ROOT).parts
    hidden = any(part.startswith(".") for part in parts) and parts[0] not in {".ci", ".gitignore"}
    return hidden or "__pycache__" in parts or parts[0] == "recondition-demo"
