"""The refusal of a value that a setting cannot take."""

from __future__ import annotations

from recondition.errors import Refused


class BadSetting(Refused):
    """A value that a setting cannot take."""

    def __init__(self, name: str, value: str, allowed: str) -> None:
        """Name the setting, the value found and what is allowed."""
        super().__init__(f"setting {name!r} cannot be {value!r}", todo=f"Give {allowed}.")
