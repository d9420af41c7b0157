"""Full disks, disks and files that may only be read: a clear word, and the book as it was."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pytest

from tests.faults.surroundings import within

if TYPE_CHECKING:
    from multiprocessing.context import ForkServerContext

    from tests.faults.deeds import Site
    from tests.running import Ran

POST = ("run", "post", "charge", "0007", "12.00", "towing", "--no-finding-because", "transport")
LINES = ("run", "post", "list", "--json")
CHECK = ("run", "check")
# The book and what can be imported into it take one, with room to spare.
DISK_BYTES = 8 * 1024 * 1024
FULL = ("the disk is full", "No space left on device", "database or disk is full")
READ_ONLY = ("may only be read", "cannot be opened", "Read-only file system")
ALL = ("posting", "import", "document", "export", "workbook", "backup")


def commands(site: Site) -> dict[str, Any]:
    """Give a command of each kind that writes."""
    made, left = site.made, str(site.folder / "import" / "left.png")
    return {
        "posting": POST,
        "import": ("run", "import", str(site.folder / "import")),
        "document": ("run", "document", "add", "0007", left, "photograph", "left side"),
        "export": ("run", "export", "lines", str(made / "lines.csv")),
        "workbook": ("run", "export", "workbook", str(made / "books.xlsx")),
        "backup": ("run", "backup", str(made / "shop.backup")),
    }


@dataclass(frozen=True)
class Bad:
    """Bad surroundings: what brings them about and takes them away, who is refused and why.

    A step names its place by what the site calls it.
    """

    begin: tuple[Any, ...]
    end: tuple[Any, ...]
    refused: tuple[str, ...]
    words: tuple[str, ...]


def full(place: str, refused: tuple[str, ...], but_bytes: int = 0) -> Bad:
    """Let the disk of a place be full."""
    begin = (("disk", place, DISK_BYTES), ("fill", place, but_bytes))
    return Bad(begin, (("free", place),), refused, FULL)


BAD = {
    "full disk": full("folder", ALL),
    # Room for the beginning of the log, but not for its end.
    "nearly full disk": full("folder", ALL, 40 * 1024),
    "full disk of kept files": full("files", ("import", "document")),
    "full disk of temporary files": full("tmp", ("import", "workbook")),
    "full disk of what is handed out": full("made", ("export", "workbook", "backup")),
    "read-only disk": Bad((("read_only", "folder"),), (("writable", "folder"),), ALL, READ_ONLY),
    "read-only folder": Bad(
        (("rights", "folder", 0o555), ("powerless",)), (("rights", "folder", 0o755),),
        ALL, READ_ONLY,
    ),
    "read-only file": Bad(
        (("rights", "location", 0o444), ("powerless",)), (("rights_of_book", "location", 0o644),),
        ALL[:-1], READ_ONLY,
    ),
}  # fmt: skip
IN_SHORT = ("full disk",)


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=() if name in IN_SHORT else pytest.mark.long) for name in BAD]
)
def test_what_cannot_be_written_is_told_and_the_book_stays(
    name: str, context: ForkServerContext, site: Site
) -> None:
    bad, asked = BAD[name], commands(site)
    steps = [
        LINES, *placed(bad.begin, site), *asked.values(), *placed(bad.end, site),
        LINES, CHECK, ("names", site.made), POST,
    ]  # fmt: skip
    before, *told, after, check, left, posted = within(context, steps, site)
    for kind, ran in zip(asked, told, strict=True):
        if kind in bad.refused:
            refused(ran, bad.words, kind)
        else:
            assert ran.status == 0, (kind, ran.err)
    assert posted.status == check.status == 0, check.out + posted.err
    if set(bad.refused) >= {"posting", "import"}:
        assert after.out == before.out
    made = {"export": "lines.csv", "workbook": "books.xlsx", "backup": "shop.backup"}
    kept = {file for kind, file in made.items() if kind not in bad.refused}
    assert set(left.out.split()) == kept


def placed(steps: tuple[Any, ...], site: Site) -> list[Any]:
    """Put the places of a site where steps name them."""
    places = {"folder": site.folder, "files": site.files, "made": site.made,
              "tmp": site.folder / "tmp", "location": site.folder / "shop.book"}  # fmt: skip
    return [tuple(places.get(word, word) for word in step) for step in steps]


def refused(ran: Ran, words: tuple[str, ...], kind: str) -> None:
    """Hold that a command was refused in words that say why and what to do."""
    assert ran.status == 1, (kind, ran.out, ran.err)
    assert ran.err.startswith("Refused: "), (kind, ran.err)
    assert "\n  do: " in ran.err, (kind, ran.err)
    assert any(each in ran.err for each in words), (kind, ran.err)
    assert "Traceback" not in ran.err, (kind, ran.err)
    assert "/." not in ran.err, (kind, ran.err)  # a name of a temporary file says nothing
