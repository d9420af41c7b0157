"""The README's lines for a book without a workbook can be typed as they stand."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tests.house.tree import ROOT
from tests.running import done, stand_in

if TYPE_CHECKING:
    from pathlib import Path

    import pytest


def test_the_readme_can_be_typed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in(tmp_path, monkeypatch)
    text = (ROOT / "README.md").read_text(encoding="utf-8").split("Or without a workbook")[1]
    block = re.search(r"```sh\n(.*?)```", text, re.DOTALL)
    assert block is not None
    lines = block[1].splitlines()
    assert len(lines) > 5
    for line in lines:
        assert done(line)
