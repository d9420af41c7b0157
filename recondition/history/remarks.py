"""Words that a careful buyer takes for praise, and "original" without its evidence.

The sheet speaks in verbs of record. What people typed is theirs and is not changed; whoever
releases it is told which words to look at (the list is the project's own, common practice, no
source).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

PRAISE = (
    "amazing", "as new", "beautiful", "best", "concours", "excellent", "exceptional",
    "factory fresh", "factory-fresh", "fantastic", "flawless", "genuine", "gorgeous", "immaculate",
    "like new", "magnificent", "matching numbers", "mint", "numbers matching", "perfect",
    "pristine", "showroom", "spotless", "stunning", "superb", "unbelievable", "unmarked",
)  # fmt: skip
_PRAISE = re.compile(rf"\b({'|'.join(PRAISE)})\b", re.IGNORECASE)
_ORIGINAL = re.compile(
    r"(?<!believed )(?<!not )(?<!consistent with the )\boriginal(?:ly|ity)?\b(?! retained)",
    re.IGNORECASE,
)
_FREE = (
    "words", "evidence", "reason", "steps", "spot", "title", "odometer_words", "defect",
    "part_name", "operations", "panel", "place", "step",
)  # fmt: skip


def says_original(*texts: str | None) -> bool:
    """Tell whether somebody wrote "original" without "believed" or the like."""
    return any(text and _ORIGINAL.search(text) for text in texts)


def remarks_on(records: list[dict[str, Any]]) -> list[str]:
    """Give what to look at in the public texts that people typed, record by record."""
    return [remark for each in records for remark in _remarks(each["name"], each["data"])]


def _remarks(name: str, data: dict[str, Any]) -> Iterator[str]:
    """Look at one record."""
    for text in _typed(data):
        for found in _PRAISE.finditer(text):
            yield f"{name} says {found[0]!r}: praise is no record of work"
        if _ORIGINAL.search(text) and not _evidence(data):
            yield f"{name} says 'original': write 'believed original', or put evidence beside it"


def _typed(value: Any, *, free: bool = False) -> Iterator[str]:  # noqa: ANN401 - any plain value
    """Give the texts that somebody typed."""
    if isinstance(value, dict):
        for field, inner in value.items():
            yield from _typed(inner, free=field in _FREE)
    elif isinstance(value, list):
        for inner in value:
            yield from _typed(inner, free=free)
    elif isinstance(value, str) and free:
        yield value


def _evidence(data: dict[str, Any]) -> bool:
    """Tell whether something stands beside a record that shows it."""
    return bool(data.get("evidence"))


_DAYS = ("work_date", "found_on", "ended_on", "read_on", "tested_on", "taken_on", "arrived_on")


def ahead(records: list[dict[str, Any]], made_on: str) -> list[str]:
    """Say that records bear days after that of the sheet (ISO 8601), where some do."""
    days = [day for each in records for day in _days(each["data"]) if day > made_on]
    if not days:
        return []
    many = "1 day lies" if len(days) == 1 else f"{len(days)} days lie"
    return [f"{many} after that of the sheet, the last on {max(days)}"]


def _days(value: Any, field: str = "") -> Iterator[str]:  # noqa: ANN401 - as above
    """Give the days in a record."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _days(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from _days(inner, field)
    elif field in _DAYS and isinstance(value, str):
        yield value
