"""What a run on PostgreSQL leaves out is there by that name, and has a reason."""

from __future__ import annotations

import pytest

from tests.errors.script import CASES
from tests.house.tree import ROOT
from tests.sqlite_only import REASONS


@pytest.mark.parametrize("name", REASONS)
def test_each_test_that_is_left_out_is_there(name: str) -> None:
    file, _, function = name.partition("::")
    text = (ROOT / "tests" / file).read_text(encoding="utf-8")
    function, _, case = function.partition("[")
    assert not function or f"def {function}(" in text
    assert not case or (CASES / f"{case.removesuffix(']')}.txt").exists()
    assert REASONS[name]
