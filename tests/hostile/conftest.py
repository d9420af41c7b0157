"""A folder with a small book in it, made once and copied for each test; a released history."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.history.released import Released, released
from tests.hostile import good
from tests.intake.sheetmaker import base, write_workbook
from tests.once import once
from tests.places import copied
from tests.running import done, stand_in

if TYPE_CHECKING:
    from pathlib import Path


def _make(folder: Path) -> str:
    write_workbook(folder / "good.xlsx", base())
    with pytest.MonkeyPatch.context() as patched:
        stand_in(folder, patched)
        said = done("recondition book create --currency USD --person MR --name 'Mara Ridd'")
        return said + done("recondition import good.xlsx")


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a book from the small job; give its folder."""
    return once(tmp_path_factory, "hostile", _make)[0]


@pytest.fixture
def shop(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in a copy of the folder with the small job's book."""
    folder = copied(made, tmp_path / "shop")
    stand_in(folder, monkeypatch)
    return folder


@pytest.fixture(scope="session")
def history(tmp_path_factory: pytest.TempPathFactory, empty_file: Path) -> Released:
    """Release a work history, once for the whole run; the good inputs take it too."""
    made_ = released(tmp_path_factory, empty_file)
    good.take_history(made_.folder)
    return made_
