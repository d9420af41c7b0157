"""Typing back what was written by hand on an inspection sheet, one short line a finding.

    lamp = spot lamp, room dark
    gauge = G1
    4 swirls; 2; 100 %
    bonnet: scratch; 3; 40 mm; lower edge; nail catches
    4 film 104 108 111 106 118; centre
    4 gloss60 64 65 63; centre
    floor: - ; covered by wax

The number is the row of the sheet; a panel's name may be shortened and ends with a colon. A
finding is defect; severity; extent; where; words. A dash is a place that was not inspected.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from recondition.book.again import again
from recondition.book.engine import Book, RollBack
from recondition.book.errors import BookInUse
from recondition.book.posting import Poster, Result
from recondition.book.reading import author_of, id_of
from recondition.book.surfaces import body_style
from recondition.condition.findings import Ended
from recondition.errors import Refused
from recondition.intake.form import draft_of
from recondition.intake.problems import ImportRefused, Problems

if TYPE_CHECKING:
    from typing import TextIO

    from recondition.book import Connection

_SETTING = re.compile(r"(?P<name>[a-z ]+?)\s*=\s*(?P<value>.*)")
_NUMBERED = re.compile(r"(?P<panel>\d+)[\s:.)]+(?P<rest>\S.*)")
_NAMED = re.compile(r"(?P<panel>[^:;]+):\s*(?P<rest>\S.*)")
_READ = re.compile(r"(?P<what>film|gloss ?(?P<angle>20|60|85))\s+(?P<values>[\d.,\s]+)")
_FIELDS = ("severity", "extent", "spot", "words")
LINE_LENGTH_MAX = 20_000
LINES_MAX = 5_000
_FIGURES_MAX = 4
NOT_INSPECTED = Ended.NOT_INSPECTED.value
_SET = {"lamp", "gauge", "step", "stage", "day", "unit", "distance"}


class LineNotClear(Refused):
    """A typed line that is neither a setting nor a panel with something about it."""

    kind = "not clear"

    def __init__(self, why: str) -> None:
        """Say what is not clear."""
        super().__init__(
            why, todo="Write '4 swirls; 2; 100 %', 'bonnet: scratch; 3; 40 mm' or 'lamp = sun'."
        )


@dataclass(slots=True)
class Typed:
    """What has been set so far and holds for the lines that follow."""

    stock: str
    day: str
    panels: tuple[str, ...]
    settings: dict[str, str] = field(default_factory=dict)

    def row(self, line: str) -> tuple[str, dict[str, str]] | None:
        """Read one line as a row of a sheet; None where it only sets something.

        Raises LineNotClear.
        """
        setting = _SETTING.fullmatch(line)
        if setting is not None and setting["name"] in _SET:
            self.settings[setting["name"]] = setting["value"]
            return None
        match = _NUMBERED.fullmatch(line) or _NAMED.fullmatch(line)
        if match is None:
            raise LineNotClear(why=f"{line[:40]!r} names no panel")
        what, *rest = (part.strip() for part in match["rest"].split(";"))
        values = {"vehicle": self.stock, "panel": self._panel(match["panel"].strip())}
        read = _READ.fullmatch(what)
        if read is not None:
            return self._reading(values, read, rest)
        return "findings", self._finding(values, what, rest)

    def _panel(self, named: str) -> str:
        """Give the panel of a row's number, or the name as it was typed."""
        if not named.isdecimal():
            return named
        if len(named) > _FIGURES_MAX or not 1 <= int(named) <= len(self.panels):
            rows = f"the sheet has rows 1 to {len(self.panels)}"
            raise LineNotClear(why=f"{rows}, not {named[:40]}")
        return self.panels[int(named) - 1]

    def _step(self) -> dict[str, str]:
        """Read ``after wash`` as step and side."""
        when, _, step = self.settings.get("step", "").partition(" ")
        return {"when": when, "step": step} if when else {}

    def _reading(
        self, values: dict[str, str], read: re.Match[str], rest: list[str]
    ) -> tuple[str, dict[str, str]]:
        """Complete a row of film or gloss."""
        values |= {"readings": read["values"], "read_on": self._day(), **self._step()}
        if rest and rest[0]:
            values["place"] = rest[0]
        if read["angle"]:
            return "gloss readings", values | {"unit": f"GU{read['angle']}"}
        if "gauge" not in self.settings:
            raise LineNotClear(why="no gauge is set before the film reading")
        unit = {"unit": self.settings["unit"]} if "unit" in self.settings else {}
        return "film readings", values | {"instrument": self.settings["gauge"]} | unit

    def _finding(self, values: dict[str, str], what: str, rest: list[str]) -> dict[str, str]:
        """Complete a row of a finding."""
        given = {name: text for name, text in zip(_FIELDS, rest, strict=False) if text}
        if len(rest) > len(_FIELDS):
            raise LineNotClear(why=f"{len(rest) + 1} parts stand in one line, 5 are the most")
        if what == "-":
            given = {"words": "; ".join(part for part in rest if part)}
            what = NOT_INSPECTED
            if not given["words"]:
                raise LineNotClear(why="a place that was not inspected needs its reason")
        taken = {"lamp": "lamp", "stage": "stage", "distance": "distance"}
        values |= {to: self.settings[name] for name, to in taken.items() if name in self.settings}
        return values | {"defect": what, "found_on": self._day(), **self._step(), **given}

    def _day(self) -> str:
        """Give the day that was set, or today."""
        return self.settings.get("day", self.day)


def lines_of(stream: TextIO) -> Iterator[str]:
    """Give the lines of a file or of a keyboard, no more than a sheet has. Raises LineNotClear."""
    count = 0
    try:
        while line := stream.readline(LINE_LENGTH_MAX + 1):
            count += 1
            if len(line) > LINE_LENGTH_MAX or count > LINES_MAX:
                raise LineNotClear(why=f"line {count} is more than a sheet has")
            yield line
    except UnicodeDecodeError as error:
        raise LineNotClear(why=f"line {count + 1} is no text in UTF-8") from error


def enter(
    book: Book, stock: str, lines: Iterable[str], *, author_ref: str, name: str = "what was typed"
) -> list[Result]:
    """Enter typed lines, all or nothing.

    Raises ImportRefused with every line that could not be read, NotThere, UnknownAuthor.
    """
    return _entered(book, stock, list(lines), author_ref=author_ref, name=name)


@again
def _entered(
    book: Book, stock: str, lines: list[str], *, author_ref: str, name: str
) -> list[Result]:
    """Enter lines that were read to their end, so that they can be entered again."""
    problems, results = Problems(), list[Result]()
    with book.writing() as conn:
        vehicle = id_of(conn, "vehicle", stock)
        day = book.now().astimezone().date().isoformat()
        typed = Typed(stock, day, body_style(conn, vehicle).panels())
        poster = Poster(book, conn, author_of(conn, author_ref))
        for number, line in enumerate(lines, start=1):
            text = line.strip()
            if not text or text.startswith("#"):
                continue
            try:
                result = _posted(conn, poster, typed, text, author_ref)
            except BookInUse:
                raise
            except Refused as refused:
                problems.add_refused(refused, name, number, "", text)
                continue
            results += result
        if problems:
            raise RollBack
    if problems:
        raise ImportRefused(name, problems, again="type it again")
    return results


def _posted(
    conn: Connection, poster: Poster, typed: Typed, text: str, author_ref: str
) -> list[Result]:
    """Enter one line; a place that was not inspected is a finding and its decision."""
    row = typed.row(text)
    if row is None:
        return []
    sheet, values = row
    who = "found_by" if sheet == "findings" else "read_by"
    found = poster.post(draft_of(conn, sheet, values | {who: author_ref}))
    if values.get("defect") != NOT_INSPECTED:
        return [found]
    decided = {
        "vehicle": values["vehicle"],
        "finding": found.draft.ref,
        "ended": NOT_INSPECTED,
        "ended_on": values["found_on"],
        "reason": values["words"],
        "decided_by": author_ref,
    }
    return [found, poster.post(draft_of(conn, "outcomes", decided))]
