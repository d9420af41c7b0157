"""Reads the published check values that lie in tests/data/check_values."""

from __future__ import annotations

import csv
from pathlib import Path

FOLDER = Path(__file__).parent / "data" / "check_values"


def check_values(name: str) -> list[dict[str, str]]:
    """Return the rows of ``name``.csv by column heading."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
