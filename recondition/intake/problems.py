"""Every problem of an import, at once: the first 200 in full, the rest counted by kind."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace

from recondition.errors import Refused

LISTED_MAX = 200


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: where it stands, the text found, and what to do.

    ``row`` is the row of the sheet as the spreadsheet counts it, 0 where it concerns the
    whole sheet; ``column`` is the heading with its letter.
    """

    kind: str
    sheet: str
    row: int
    column: str
    found: str
    what: str
    todo: str

    @property
    def where(self) -> str:
        """Sheet, row and column in words."""
        row = f"row {self.row}" if self.row else ""
        return ", ".join(part for part in (self.sheet, row, self.column) if part)

    def words(self) -> str:
        """Give the problem as lines of text."""
        what = self.what if self.what.endswith(".") else f"{self.what}."
        told = not self.found or repr(self.found) in what
        found = "" if told else f" Found: {self.found!r}."
        return f"{self.where}: {what}{found}\n    {self.todo}"


@dataclass(slots=True)
class Problems:
    """Collects problems; memory stays bounded however many there are."""

    listed: list[Problem] = field(default_factory=list)
    uncounted: Counter[str] = field(default_factory=Counter)

    def add(self, problem: Problem) -> None:
        """Keep a problem, or only count it when enough are listed."""
        if len(self.listed) < LISTED_MAX:
            self.listed.append(problem)
        else:
            self.uncounted[problem.kind] += 1

    def add_refused(self, refused: Refused, sheet: str, row: int, place: str, found: str) -> None:
        """Keep a refusal of one row that came by itself, with all that it holds."""
        if isinstance(refused, ImportRefused):
            for each in refused.problems.listed:
                where = ", ".join(part for part in (place, each.column) if part)
                self.add(replace(each, sheet=sheet, row=row, column=where))
            return
        kind = getattr(refused, "kind", "refused")
        where = ", ".join(part for part in (place, refused.where) if part)
        self.add(Problem(kind, sheet, row, where, found, refused.what, refused.todo))

    def __bool__(self) -> bool:
        """Tell whether there is any."""
        return bool(self.listed)

    @property
    def total(self) -> int:
        """How many there are, listed or not."""
        return len(self.listed) + self.uncounted.total()

    def words(self) -> list[str]:
        """Give every listed problem and the count of the others."""
        rest = [f"and {number} more: {kind}" for kind, number in sorted(self.uncounted.items())]
        return [problem.words() for problem in self.listed] + rest


class ImportRefused(Refused):
    """A file whose rows have problems; nothing of it was written."""

    def __init__(self, name: str, problems: Problems, again: str = "import the file again") -> None:
        """Keep the problems for whoever shows them; ``again`` says how to try once more."""
        count = f"{problems.total:,} problem{'' if problems.total == 1 else 's'}"
        super().__init__(
            f"{name} has {count}; nothing was written.",
            where=problems.listed[0].where,
            todo=f"Mend what is listed and {again}.",
        )
        self.problems = problems
        self.name = name

    def words(self) -> str:
        """Give the refusal with everything that is listed."""
        return "\n".join([self.what, *self.problems.words(), self.todo])
