"""The fuzzer over every reader: a little of all in the long run, each for long on demand.

pytest -m full -n 0 -s tests/hostile/test_fuzz.py    # 120 seconds each, prints what it ran
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.hostile.targets import TARGETS

if TYPE_CHECKING:
    from tests.history.released import Released

ROOT = Path(__file__).parents[2]
# The most memory a process has held counts on in what it starts, and the fuzzer holds that against
# its bound: after a hungry test it would stop at once. What a shell starts begins anew.
_BEGUN_ANEW = ["sh", "-c", '"$@"; exit $?', "sh"]
_DONE = re.compile(r"#(?P<runs>\d+)\s+DONE\s+cov: (?P<cov>\d+)")


def fuzzed(name: str, seconds: int, into: Path, history: Released) -> str:
    """Fuzz a target in a process of its own; give runs and coverage, fail with what was found."""
    told = subprocess.run(
        [*_BEGUN_ANEW, sys.executable, "-m", "tests.hostile.fuzz", name, "--seconds", str(seconds),
         "--into", str(into), "--history", str(history.folder)],
        cwd=ROOT, capture_output=True, timeout=seconds * 2 + 120, check=False,
    )  # fmt: skip
    said = told.stderr.decode("utf-8", "replace") + told.stdout.decode("utf-8", "replace")
    found = [each for each in into.iterdir() if each.is_file()]
    shown = "".join(f"\n{each.name}: {each.read_bytes()[:400]!r}" for each in found)
    at = max(said.find("Uncaught Python exception"), said.find("ERROR: libFuzzer"), 0)
    assert told.returncode == 0, f"{name}{shown}\n{said[at : at + 4000]}"
    assert not found, shown
    done = _DONE.search(said)
    assert done is not None, said[-2000:]
    return f"{name}: {int(done['runs']):,} runs, {done['cov']} places in the code reached"


@pytest.mark.long
def test_what_the_fuzzer_may_hold_does_not_count_what_another_test_held() -> None:
    megabytes = 300
    script = f"""
import resource, subprocess, sys
held = bytearray({megabytes} << 20)
held[::4096] = b"x" * len(held[::4096])
del held
asks = [sys.executable, "-c", "import resource; print(resource.getrusage(0).ru_maxrss)"]
print(subprocess.run([*{_BEGUN_ANEW!r}, *asks], capture_output=True, check=True).stdout.decode())
"""
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True)
    assert int(told.stdout) // 1024 < megabytes


@pytest.mark.long
def test_a_little_of_every_reader(tmp_path: Path, history: Released) -> None:
    print(fuzzed("every", 10, tmp_path, history))  # noqa: T201 - the figures of the run


@pytest.mark.full
@pytest.mark.parametrize("name", TARGETS)
def test_each_reader_for_long(name: str, tmp_path: Path, history: Released) -> None:
    print(fuzzed(name, 120, tmp_path, history))  # noqa: T201 - the figures of the run
