"""Books to read: one made of short lines, one of the demo. Each is copied for a test."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.cli.days import ACID, TYPED
from tests.cli.lines import ADDING
from tests.once import once
from tests.pictures import photograph
from tests.places import copied
from tests.running import done, stand_in

if TYPE_CHECKING:
    from pathlib import Path


def _type(folder: Path) -> str:
    (folder / "invoice.txt").write_text("Halm Decals, one stripe, 120.00\n", encoding="utf-8")
    (folder / "photos").mkdir()
    for name, taken, shade in (
        ("before", "2026:02:01 09:00:00", 70),
        ("after", "2026:02:02 16:30:00", 140),
    ):
        (folder / "photos" / f"{name}.jpg").write_bytes(photograph(taken, shade=shade))
    (folder / "acid.txt").write_text(ACID, encoding="utf-8")
    (folder / "typed.txt").write_text(TYPED, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patched:
        stand_in(folder, patched)
        return "".join(f"$ {line}\n{done(line)}" for line in ADDING)


@pytest.fixture(scope="session")
def typed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Make a book of short lines; give its folder and what was said."""
    return once(tmp_path_factory, "typed", _type)


@pytest.fixture
def shop(typed: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in a copy of the folder with the short lines' book."""
    folder = copied(typed[0], tmp_path / "shop")
    stand_in(folder, monkeypatch)
    return folder


@pytest.fixture
def year(demo: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in a copy of the folder with the demo's book."""
    folder = copied(demo[0], tmp_path / "year")
    stand_in(folder, monkeypatch, book="made/demo.book")
    return folder
