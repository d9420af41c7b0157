"""What ``check`` may find: damage in words, and a summary of what was looked at."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Damage:
    """One thing that is not as it must be: what, where, and what to do."""

    what: str
    where: str
    todo: str


@dataclass(slots=True)
class Examined:
    """The outcome of a check: how much was looked at, what was erased, what is damaged."""

    counts: Counter[str] = field(default_factory=Counter)
    damages: list[Damage] = field(default_factory=list)

    def found(self, what: str, where: str, todo: str = "") -> None:
        """Note one damage; without advice it is to restore the newest good backup."""
        advice = todo or "Restore the newest good backup, or find out who changed the database."
        self.damages.append(Damage(what, where, advice))
