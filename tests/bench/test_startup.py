"""How long ``recondition --help`` takes beside a process that only imports Click."""

from __future__ import annotations

import subprocess
import sys
from statistics import median
from time import perf_counter

import pytest

RUNS = 15
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
