"""A folder with a small book in it, made once and copied for each case."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.places import copied
from tests.running import done, stand_in
from tests.web.conftest import quick_hashes  # noqa: F401 - for the cases that sign in

if TYPE_CHECKING:
    from pathlib import Path

# MR has no charge-out rate and HK no rate at all; 0008 is consigned and has no terms.
BOOK = """
recondition book create --currency USD --person MR --name "Mara Ridd"
recondition person add HK "Hana Kess" preparer
recondition person add OW "Otto Wend" owner
recondition person rate MR 2021-01-01 41.00
recondition vehicle add 0007 "1967 Dunmarch Warden estate"
recondition vehicle add 0008 "1971 Orlanda Brisa coupe" --whose-it-is consigned --owner OW
recondition finding add 0007 bonnet "wash swirls" --severity 2
recondition finding add 0008 roof "scratch" --severity 3
recondition terms set 0007 hammer 20000/25000/30000 41
recondition candidate add 0007 "one-step polish" --hours 5/8/12 --uplift 900/1800/3000
recondition product add M-001 "Fine cut 4" "fine polish" ml
recondition post labour 0007 2.5 "one-step polish" --findings F-001
"""


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made")
    with pytest.MonkeyPatch.context() as patched:
        stand_in(folder, patched)
        for line in BOOK.strip().splitlines():
            done(line)
    return folder


@pytest.fixture
def folder(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    place = copied(made, tmp_path / "work")
    stand_in(place, monkeypatch)
    return place
