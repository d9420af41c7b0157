"""Which of many cases the default run takes; the others wait for the long one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterable


def mostly_long(names: Iterable[str], *always: str) -> list[Any]:
    """Give every name as a parameter, all but some marked as long."""
    return [
        name if name in always else pytest.param(name, marks=pytest.mark.long) for name in names
    ]
