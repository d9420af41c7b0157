"""What ``check`` may find: damage in words, and a summary of what was looked at."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace

KEPT_MAX = 1000
LOOKED_AT = ("records", "chains", "texts", "erased texts", "shared lines", "products in stock",
             "journal entries", "closed months", "exports", "files", "noted heads")  # fmt: skip

RESTORE = (
    "Keep this book as it is and make no entries in it. Lay the newest good backup out beside it "
    "(recondition restore), check that, and enter again what came after it. Find out who or what "
    "reached the database past recondition."
)
FROM_CHAIN = (
    "The entry itself is whole in its chain; this copy of it, which reports read, was changed. "
    "Trust no figure made since. " + RESTORE
)
NEW_BOOK = (
    "Where nothing else is damaged, 'recondition book copy' into a new book makes it anew: check "
    "the new one and go on with that. Until then enter nothing."
)
FILE_BACK = (
    "Put the file back from a backup, in which it is called files/ and its hash. It belongs into "
    "the book's folder of files, in the folder named by the first two signs of the hash. If it is "
    "lost for good, put that on record: recondition person erase-text document {} file "
    "--ground 'the file is lost'."
)
CLOCK = (
    "Set the clock of the machine right. If the entries up to a moment were made with a clock "
    "that ran ahead, say so: recondition book set 'clock set right' {}. If not, "
    "somebody made them up: compare with a backup."
)
ASK = (
    "Compare this entry with its papers. Take a wrong one back with a reversal, or restore the "
    "newest good backup."
)


@dataclass(frozen=True, slots=True)
class Damage:
    """One thing that is not as it must be: what, where, what to do, and what it touches.

    ``touches`` names entries, vehicles, periods and what was handed out as the user does.
    ``record`` and ``subject`` are the ids behind that, '' where there is none. ``guard`` is the
    guard that is missing or altered, '' of other damage.
    """

    what: str
    where: str
    todo: str
    touches: str = ""
    record: str = ""
    subject: str = ""
    guard: str = ""


@dataclass(slots=True)
class Examined:
    """The outcome of a check: how much was looked at, what was erased, what is damaged.

    Of very many damages the first are kept and the ``more`` counted. ``notes`` are no damage.
    """

    counts: Counter[str] = field(default_factory=Counter)
    damages: list[Damage] = field(default_factory=list)
    notes: list[Damage] = field(default_factory=list)
    more: int = 0

    def found(  # noqa: PLR0913 - each is a part of one damage
        self, what: str, where: str, todo: str = "", *, record: str = "", subject: str = "",
        guard: str = "",
    ) -> None:  # fmt: skip
        """Note one damage; without advice it is to restore the newest good backup."""
        made = Damage(readable(what), readable(where), readable(todo or RESTORE), record=record,
                      subject=subject, guard=guard)  # fmt: skip
        self._keep(made)

    def note(self, what: str, where: str, todo: str) -> None:
        """Note something that is worth knowing and no damage."""
        self.notes.append(Damage(readable(what), readable(where), todo))

    def add(self, other: Examined) -> None:
        """Take over what was found elsewhere."""
        self.counts.update(other.counts)
        self.notes.extend(other.notes)
        self.more += other.more
        for damage in other.damages:
            self._keep(damage)

    def _keep(self, damage: Damage) -> None:
        """Keep one damage, or count it where too many are kept already."""
        if len(self.damages) < KEPT_MAX:
            self.damages.append(damage)
        else:
            self.more += 1

    def looked_at(self) -> dict[str, int]:
        """Give how much was looked at, in the order in which it is told."""
        return {name: self.counts[name] for name in LOOKED_AT if name in self.counts}

    def say_touched(self, number: int, touches: str) -> None:
        """Say of one damage what it touches."""
        self.damages[number] = replace(self.damages[number], touches=readable(touches))


def readable(text: str) -> str:
    """Write a text, which may come from a damaged book, so that no sign in it can do harm."""
    return "".join(sign if sign.isprintable() else f"[U+{ord(sign):04X}]" for sign in text)
