"""Stored values in words, for messages that show what differs."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from recondition.amounts import Money

_ID = re.compile(r"[0-9a-f]{32}")


def shown(value: Any, name: Callable[[str], str]) -> str:  # noqa: ANN401, PLR0911 - one arm a kind
    """Write a plain value for people; ``name`` gives the user's own name of a record."""
    match value:
        case None:
            return "nothing"
        case bool():
            return "yes" if value else "no"
        case {"minor": minor, "currency": currency}:
            return Money(int(minor), currency).text
        case {"finding": finding, "weight": weight}:
            return f"{name(finding)} {weight}"
        case dict():
            return " ".join(shown(item, name) for item in value.values())
        case list():
            return "; ".join(shown(item, name) for item in value) or "nothing"
        case str() if _ID.fullmatch(value):
            return name(value)
    return repr(value) if " " in str(value) else str(value)
