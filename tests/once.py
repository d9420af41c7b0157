"""What is made once for a whole run and copied by every test that wants one of its own."""

from __future__ import annotations

import fcntl
import os
import shutil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import pytest


def once(
    factory: pytest.TempPathFactory, name: str, make: Callable[[Path], str]
) -> tuple[Path, str]:
    """Fill a folder unless another worker has done so; give it with what ``make`` said.

    Workers share the folder above their own. Whoever comes second waits for the first, and a
    folder left half made by a failure is made anew.
    """
    own = factory.getbasetemp()
    shared = own.parent if "PYTEST_XDIST_WORKER" in os.environ else own
    place, said = shared / f"once-{name}", shared / f"once-{name}.txt"
    with (shared / f"once-{name}.lock").open("w", encoding="utf-8") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not said.exists():
            shutil.rmtree(place, ignore_errors=True)
            place.mkdir()
            words = make(place)
            said.write_text(words, encoding="utf-8", newline="")
    with said.open(encoding="utf-8", newline="") as file:
        return place, file.read()
