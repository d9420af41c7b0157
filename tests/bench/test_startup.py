"""How long the command line takes to start, beside bare processes with the same imports."""

from __future__ import annotations

import subprocess
import sys
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path

RUNS, FEW = 15, 5
CLICK = ["-c", "import click"]
HELP = [
    "-c",
    "import sys; sys.argv = ['recondition', '--help']; from recondition.cli import main; main()",
]


def _seconds(arguments: list[str]) -> float:
    started = perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
    return perf_counter() - started


@pytest.mark.bench
def test_help_starts_in_well_under_twice_the_time_of_click() -> None:
    pairs = [(_seconds(HELP), _seconds(CLICK)) for _ in range(RUNS)]
    ours, click = (median(times) for times in zip(*pairs, strict=True))
    print(f"\nhelp {ours * 1000:.0f} ms, click {click * 1000:.0f} ms, ratio {ours / click:.2f}")  # noqa: T201
    assert ours < 2 * click


# Says what a command imported, in that order, where it lies in a file of its own.
_LISTED = """
import atexit, sys
sys.argv = ["recondition", *{words!r}]
told = lambda: print("\\n".join(n for n in sys.modules if n != "__main__"), file=sys.stderr)
atexit.register(told)
from recondition.cli import main
main()
"""
_ALONE = (
    "import sys; sys.argv = ['recondition', *{words!r}]; from recondition.cli import main; main()"
)


@pytest.mark.bench
def test_a_reading_command_takes_little_more_than_its_imports(
    demo: tuple[Path, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(demo[0])
    words = ["--book", str(demo[0] / "made" / "demo.book"), "vehicle", "list"]
    ran = subprocess.run(
        [sys.executable, "-c", _LISTED.format(words=words)],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    assert "0007" in ran.stdout
    importable = _importable(ran.stderr.split())
    names = [name for name in ran.stderr.split() if name in importable]
    imports = ["-c", "".join(f"import {name}\n" for name in names)]
    command = ["-c", _ALONE.format(words=words)]
    pairs = [(_seconds(command), _seconds(imports)) for _ in range(FEW)]
    ours, bare = (median(times) for times in zip(*pairs, strict=True))
    print(  # noqa: T201
        f"\nvehicle list {ours * 1000:.0f} ms, its {len(names)} imports alone "
        f"{bare * 1000:.0f} ms, ratio {ours / bare:.2f}"
    )
    assert ours < 2 * bare


def _importable(names: list[str]) -> set[str]:
    """Give those of some modules that a fresh process can import by their names."""
    tried = "".join(
        f"try:\n    import {name}\n    print({name!r})\nexcept Exception:\n    pass\n"
        for name in names
        if all(part.isidentifier() for part in name.split("."))
    )
    ran = subprocess.run([sys.executable, "-c", tried], check=True, capture_output=True, text=True)
    return set(ran.stdout.split())
