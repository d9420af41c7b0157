"""Long work: its kinds, who may have it done, what it is given and what it gives back.

The work itself stands in ``works`` and is done by a process of its own (``work``), so that pages
stay quick and a cancel can be a plain end of that process: whatever writes here is kept whole or
not at all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recondition.book.roles import Right
from recondition.reports.table import Table
from recondition.web.carried import plain_table, table_of

if TYPE_CHECKING:
    from recondition.book.engine import Book

Told = Callable[[str, int, int | None], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What one piece of long work is given.

    ``arguments`` are texts, lists of texts and None; ``folder`` is its own and goes with its
    result; ``told`` takes what is being done, how far it is, and of how much where that is known.
    """

    book: Book
    arguments: Mapping[str, Any]
    folder: Path
    told: Told


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What long work gives back.

    ``said`` is shown in lines, ``tables`` below; ``file`` names a finished file in the work's
    folder, ``to`` a page to go on to; ``answer`` is for the page that asked (plain values).
    """

    said: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    file: str = ""
    to: str = ""
    answer: Mapping[str, Any] = field(default_factory=dict)

    def plain(self) -> dict[str, Any]:
        """Write it with plain values alone."""
        tables = [plain_table(table) for table in self.tables]
        return {"said": list(self.said), "tables": tables, "file": self.file, "to": self.to,
                "answer": dict(self.answer)}  # fmt: skip

    @classmethod
    def of(cls, plain: Mapping[str, Any]) -> Outcome:
        """Read one back."""
        tables = tuple(table_of(each) for each in plain["tables"])
        return cls(said=tuple(plain["said"]), tables=tables, file=plain["file"], to=plain["to"],
                   answer=plain["answer"])  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of long work: its name for people, who may, and the function in ``works``.

    ``left`` says what a cancel leaves; ``marks`` names the function of ``works`` that gives the
    names of what such work notes in the book, so that a cancel that came too late says so.
    ``onward`` is set where the page that it leads to shows what came of it, ``bare`` where its
    answer holds no amount, whoever asks.
    """

    title: str
    rights: tuple[Right, ...]
    work: str
    left: str
    marks: str = ""
    onward: bool = False
    bare: bool = False


_EXPORT = "No file was handed out."
_BOOKS = (Right.BOOKS,)
_ENTERS = (Right.BOOKS, Right.DECIDE)
KINDS: dict[str, Kind] = {
    "plan": Kind(
        title="Plan several vehicles", rights=(Right.DECIDE,), work="planned",
        left="Nothing was kept: a plan writes nothing.",
    ),
    "workbook": Kind(
        title="Write the workbook", rights=_BOOKS, work="exported", left=_EXPORT, marks="batches",
    ),
    "journal": Kind(
        title="Write the journal", rights=_BOOKS, work="exported", left=_EXPORT, marks="batches",
    ),
    "lines": Kind(
        title="Write the lines", rights=_BOOKS, work="exported", left=_EXPORT, marks="batches",
    ),
    "check": Kind(
        title="Check a workbook", rights=_ENTERS, work="checked",
        left="Nothing was written: it was only checked.",
    ),
    "import": Kind(
        title="Take a workbook in", rights=_ENTERS, work="imported",
        left="All of it is in the book or nothing, and a cancel before its very end means nothing. "
        "Check the same file again: it says which, and that changes nothing.",
    ),
    "trial copy": Kind(
        title="Make a trial copy", rights=(Right.RELEASE,), work="tried",
        left="There is no copy. Nothing was to be released.", onward=True, bare=True,
    ),
    "work history": Kind(
        title="Release a work history", rights=(Right.RELEASE,), work="released",
        left="No edition was released.", marks="editions", bare=True,
    ),
}  # fmt: skip
"""By the name that ``jobs.start`` is given."""
