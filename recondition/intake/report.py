"""What an import did, sheet by sheet."""

from __future__ import annotations

from dataclasses import dataclass

from recondition.book.posting import Status


@dataclass(frozen=True, slots=True)
class SheetCount:
    """How many rows of one sheet were new, there already, or a new version."""

    sheet: str
    new: int = 0
    same: int = 0
    version: int = 0

    def words(self) -> str:
        """Give the counts in words."""
        counts = ((self.new, Status.NEW), (self.version, Status.VERSION), (self.same, Status.SAME))
        return f"{self.sheet}: " + ", ".join(f"{n:,} {status}" for n, status in counts if n)


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What an import did, or with ``check_only`` would have done."""

    name: str
    counts: tuple[SheetCount, ...]
    notices: tuple[str, ...]
    check_only: bool

    @property
    def rows(self) -> int:
        """How many rows there were."""
        return sum(count.new + count.same + count.version for count in self.counts)

    @property
    def changed(self) -> int:
        """How many rows are new or a new version."""
        return sum(count.new + count.version for count in self.counts)

    def words(self) -> list[str]:
        """Give the report as lines of text."""
        lines = [count.words() for count in self.counts] + [f"Notice: {n}" for n in self.notices]
        if not self.rows:
            lines.append(f"{self.name} has no rows to import; the book is as it was.")
        elif not self.changed:
            lines.append("Everything is in the book already; nothing was changed.")
        elif self.check_only:
            lines.append("Checked only: nothing was written.")
        else:
            rows = "row was" if self.changed == 1 else "rows were"
            lines.append(f"{self.changed:,} {rows} written.")
        return lines
