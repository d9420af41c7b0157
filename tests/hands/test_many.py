"""Sixteen writers at once: each line that was acknowledged is there once, on either engine.

Run the whole number with ``pytest -n 0 -s -m full tests/hands/test_many.py``; it prints its
figures. Those books lie on a disk, where RECONDITION_BENCH_FOLDER says or else at home, and every
posting waits for it.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.hands.shop import hold, prepared, write
from tests.postgres import serving

if TYPE_CHECKING:
    from collections.abc import Iterator

WRITERS = 16
ENGINES = ("sqlite", "postgresql")


@contextmanager
def fresh(engine: str, folder: Path, *, hasty: bool) -> Iterator[str]:
    """Name a place for a new book."""
    if engine == "sqlite":
        yield str(folder / "book.sqlite")
        return
    with serving(hasty=hasty) as make:
        yield make("hands")


def many(engine: str, folder: Path, each: int, *, hasty: bool = True) -> None:
    """Let sixteen post, and hold what must be."""
    with fresh(engine, folder, hasty=hasty) as location:
        book = prepared(location, WRITERS)
        book.close()
        run = write(location, folder, WRITERS, each)
        sys.stdout.write(f"\n{engine}: {WRITERS} writers, {each:,} each: {run}\n")
        assert len(run.acknowledged) == WRITERS * each
        hold(book, run.acknowledged)
        book.close()


@pytest.mark.long
@pytest.mark.parametrize("engine", ENGINES)
def test_sixteen_writers_with_a_hundred_postings_each(engine: str, tmp_path: Path) -> None:
    many(engine, tmp_path, 100)


@pytest.mark.full
@pytest.mark.parametrize("engine", ENGINES)
def test_sixteen_writers_with_ten_thousand_postings_each(
    engine: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """RECONDITION_EACH sets another number for a trial."""
    disk = os.environ.get("RECONDITION_BENCH_FOLDER", str(Path.home()))
    monkeypatch.setattr(tempfile, "tempdir", disk)
    folder = Path(tempfile.mkdtemp(prefix="hands"))
    try:
        many(engine, folder, int(os.environ.get("RECONDITION_EACH", "10000")), hasty=False)
    finally:
        shutil.rmtree(folder)
