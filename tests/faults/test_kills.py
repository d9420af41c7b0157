"""A process is killed at random moments; what it acknowledged is there, all else is whole."""

from __future__ import annotations

import hashlib
import os
import random
import time
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.faults import deeds, killing, verifying
from tests.faults.engines import InFiles, OnServer
from tests.faults.killing import Aim, Length
from tests.faults.yard import EARLIER, ROWS, Yard, yard_of
from tests.postgres import serving

if TYPE_CHECKING:
    from collections.abc import Iterator
    from multiprocessing.context import ForkServerContext

DEEDS = ("posting", "import", "export", "backup", "restore", "migration", "import xlsx",
         "export workbook")  # fmt: skip
# What people do most comes most often.
TURNS = (*DEEDS, "posting", "posting")
SEED = os.environ.get("RECONDITION_KILL_SEED")


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def yard(
    request: pytest.FixtureRequest,
    context: ForkServerContext,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Yard]:
    """Make the books that are copied for the kills of one engine."""
    folder = tmp_path_factory.mktemp("kills")
    if request.param == "sqlite":
        yield yard_of(InFiles(), context, folder)
        return
    with serving() as make:
        yield yard_of(OnServer(make), context, folder)


@pytest.mark.long
def test_twenty_kills(yard: Yard) -> None:
    kill(yard, 20)


@pytest.mark.full
def test_five_hundred_kills(yard: Yard) -> None:
    kill(yard, 500)


def kill(yard: Yard, times: int) -> None:
    """Kill as often as asked, one deed after another, and print what was met."""
    seed = SEED or str(random.SystemRandom().randrange(10**9))
    print(f"\n{yard.ground.name}: seed {seed} (RECONDITION_KILL_SEED)")  # noqa: T201
    draw = random.Random(seed)  # noqa: S311 - nothing secret
    lengths = {deed: _length(yard, deed) for deed in DEEDS}
    print({deed: f"{length.seconds * 1000:.0f} ms" for deed, length in lengths.items()})  # noqa: T201
    met: Counter[tuple[str, str]] = Counter()
    acknowledged, began = 0, time.monotonic()
    for number in range(times):
        deed = TURNS[number % len(TURNS)]
        aim = Aim.drawn(draw, lengths[deed])
        site = yard.site(deed, number)
        old = _old_export(deed, site) if draw.random() < 0.5 else ""
        killed = killing.run(yard.context, deed, site, aim)
        assert killed.status in (None, 0), (site.folder / "said").read_text(encoding="utf-8")
        met[deed, killed.where] += 1
        yard.ground.quiet(site.location)
        try:
            acknowledged += _verify(yard, deed, site, old)
        except BaseException:
            print(f"kill {number}: {deed}, {aim}, {killed.where}")  # noqa: T201
            raise
        yard.clear(site)
    _say(met, times, acknowledged, time.monotonic() - began)


def _length(yard: Yard, deed: str) -> Length:
    """Measure how long a deed takes that is left alone."""
    site = yard.site(deed, -1)
    ran = killing.run(yard.context, deed, site)
    assert ran.status == 0, (site.folder / "said").read_text(encoding="utf-8")
    if deed.startswith("import"):
        with verifying.opened(site) as book:
            yard.grown[deed] = verifying.sound(book) - yard.before
        assert yard.grown[deed]["labour"] == ROWS - 1
    yard.ground.quiet(site.location)
    yard.clear(site)
    return ran.length


def _old_export(deed: str, site: deeds.Site) -> str:
    """Let an earlier file lie where an export goes; give its hash, "" where none is laid."""
    if not deed.startswith("export"):
        return ""
    content = b"an earlier export\r\n"
    Path(deeds.arguments(deed, site)[-1]).write_bytes(content)
    return hashlib.sha256(content).hexdigest()


def _verify(yard: Yard, deed: str, site: deeds.Site, old: str) -> int:
    """Verify what a kill left; give how many acknowledged lines were found again."""
    match deed.split(" ", maxsplit=1)[0]:
        case "posting":
            return verifying.posting(site, yard.before)
        case "import":
            return verifying.importing(site, yard.before, deed, yard.grown[deed])
        case "export":
            return verifying.exporting(site, yard.before, deed, old)
        case "backup":
            return verifying.backup(site, yard.before)
        case "restore":
            return verifying.restoring(site, yard.before)
    return verifying.migrating(site, yard.before, EARLIER)


def _say(met: Counter[tuple[str, str]], times: int, acknowledged: int, seconds: float) -> None:
    for deed in DEEDS:
        by = {where: met[deed, where] for where in ("before", "during", "after")}
        print(f"  {deed}: {sum(by.values())} kills, {by} keeping")  # noqa: T201
    print(f"  {times} kills in {seconds:.0f} s; {acknowledged} acknowledged lines, all there once")  # noqa: T201
