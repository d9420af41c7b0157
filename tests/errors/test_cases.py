"""Every refusal has a case that brings it about, and says exactly what is kept there."""

from __future__ import annotations

import importlib
import os
import pkgutil
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

import recondition
from recondition.errors import Refused
from tests.errors.script import CASES, RULE, play, read
from tests.golden import masked

if TYPE_CHECKING:
    from collections.abc import Iterator

# Never raised themselves: their subclasses are.
BASES = {"intake.CellRefused"}


def _refusals(base: type[Refused]) -> Iterator[type[Refused]]:
    for found in base.__subclasses__():
        yield found
        yield from _refusals(found)


def _name(refusal: type[Refused]) -> str:
    return f"{refusal.__module__.split('.')[1]}.{refusal.__name__}"


def every_refusal() -> dict[str, type[Refused]]:
    for module in pkgutil.walk_packages(recondition.__path__, "recondition."):
        if "migrations" not in module.name:
            importlib.import_module(module.name)
    ours = (found for found in _refusals(Refused) if found.__module__.startswith("recondition."))
    return {_name(found): found for found in ours}


def test_every_refusal_has_a_case_and_every_case_a_refusal() -> None:
    assert {path.stem for path in CASES.glob("*.txt")} == set(every_refusal()) - BASES


# Each case of the pages signs somebody in; all together take their time.
PLAYED = [
    pytest.param(path, marks=[pytest.mark.long] if path.stem.startswith("web.") else [])
    for path in sorted(CASES.glob("*.txt"))
]


@pytest.mark.parametrize("path", PLAYED, ids=lambda path: path.stem)
def test_what_is_said(path: Path, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    raised: set[str] = set()
    _watch(raised, monkeypatch)
    script, steps, kept = read(path.read_text(encoding="utf-8"))
    ran = play(steps, monkeypatch)
    said = masked(f"exit {ran.status}\n{ran.err}", folder)
    assert ran.status in (1, 2, 3), ran.out
    assert path.stem in raised, f"{path.stem} was not raised, but {sorted(raised)}: {said}"
    assert "went wrong inside" not in said
    assert "Traceback" not in said
    if os.environ.get("GOLDEN_UPDATE"):
        path.write_text(f"{script}{RULE}{said}", encoding="utf-8")
        return
    assert said == kept


def _watch(raised: set[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Note which refusals are made, also those that are then listed inside another."""
    make = Refused.__init__

    def noting(self: Refused, *args: Any, **kwargs: Any) -> None:
        raised.add(_name(type(self)))
        make(self, *args, **kwargs)

    monkeypatch.setattr(Refused, "__init__", noting)
