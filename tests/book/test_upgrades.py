"""Books of every earlier schema come up with nothing lost, and go down again where they can."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import event, text

from recondition.book import brought, schema
from recondition.book.backup import upgrade_with_copy
from recondition.book.check import check
from recondition.book.check_opening import check_at
from recondition.book.engine import Book, open_any, upgrade_book, version_of
from recondition.book.errors import BookIsOlder
from recondition.book.kinds import KINDS
from recondition.book.lowering import NoOlderSchema, StillInUse, downgrade_with_copy
from recondition.book.settings import SETTINGS
from recondition.book.tables_logins import OF_PAGES
from recondition.condition.vehicle import Holding, Vehicle
from recondition.fields import Words
from recondition.ledger.people import Person, Setting
from tests.book.conftest import ENGINES
from tests.book.make import add
from tests.book.old_books import (
    OLD,
    create_at,
    everything,
    in_newest,
    old_book,
    reopened,
    said_now,
    statements,
    told,
)
from tests.book.test_schema import differences

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.book.make import FilledBook

Old = tuple[str, Book]


@pytest.fixture
def place(
    request: pytest.FixtureRequest, tmp_path: Path
) -> Callable[[str, str], str]:  # fmt: skip
    """Give a function that names where a new book of an engine can lie."""

    def name(engine: str, what: str) -> str:
        if engine == "sqlite":
            return str(tmp_path / f"{what}.sqlite")
        make: Callable[[str], str] = request.getfixturevalue("new_database")
        return make(f"{what}{abs(hash(request.node.nodeid))}")

    return name


@pytest.fixture(
    params=[
        *(("sqlite", each) for each in (OLD[0], OLD[-1])),
        *(pytest.param(("sqlite", each), marks=pytest.mark.long) for each in OLD[1:-1]),
        *(pytest.param(("postgresql", each), marks=pytest.mark.long) for each in OLD),
    ],
    ids=" ".join,
)
def old(request: pytest.FixtureRequest, tmp_path: Path, place: Callable[[str, str], str]) -> Old:
    """Give a book of each earlier schema, as it was written then."""
    engine, revision = request.param
    url = place(engine, "old") if engine == "postgresql" else ""
    return revision, old_book(revision, tmp_path, url)


def seen(book: Book) -> tuple[Any, Any]:
    """Give all that is in a book: its rows and what it is made of."""
    with book.reading() as conn:
        return everything(conn), statements(conn)


def test_an_old_book_comes_up_with_nothing_lost(old: Old) -> None:
    revision, book = old
    rows, _ = seen(book)
    upgrade_book(book)
    upgraded = reopened(book)
    with upgraded.reading() as conn:
        once = everything(conn), statements(conn)
        assert once[0] == in_newest(rows)
        assert differences(conn) == []
        now = said_now(conn)
    then = told(revision)
    assert now == {"heads": then["heads"], "totals": then["totals"]}
    examined = check(upgraded)
    assert examined.damages == []
    counts = dict(examined.counts)
    if "erased texts" not in then["looked at"]:  # an erasure left its text where it was, then
        counts["texts"] += counts["erased texts"]
    assert {name: counts[name] for name in then["looked at"]} == then["looked at"]
    upgrade_book(upgraded)
    assert seen(upgraded) == once


def test_an_old_book_is_told_to_be_older_and_not_damaged(old: Old) -> None:
    _, book = old
    with pytest.raises(BookIsOlder):
        check_at(book.location)


@pytest.mark.full
def test_a_book_that_uses_nothing_new_goes_down_and_up_again(old: Old) -> None:
    _down_and_up(*old)


def _down_and_up(revision: str, book: Book) -> None:
    """Take a book up, down and up again; each time it must be what it was before."""
    before = seen(book)
    upgrade_book(book)
    newest = seen(book)
    copy = downgrade_with_copy(book, revision)
    assert version_of(book) == revision
    assert seen(book) == before
    with open_any(str(copy)).reading() as conn:
        assert everything(conn) == newest[0]
    upgrade_with_copy(book)
    assert seen(book) == newest
    assert check(reopened(book)).damages == []


@pytest.mark.parametrize("revision", [pytest.param("0002", marks=pytest.mark.long), "0008"])
def test_an_old_book_goes_on_and_down_again(tmp_path: Path, revision: str) -> None:
    book = old_book(revision, tmp_path)
    upgrade_book(book)
    add(book, "person", "NW", Person(name=Words("Nella Wirt"), role="preparer"))
    add(book, "vehicle", "0009", Vehicle(designation="Ostra 11", holding=Holding.OWN))
    downgrade_with_copy(book, revision).unlink()  # the next may come in the same second
    _down_and_up(revision, book)


@pytest.mark.long
@pytest.mark.parametrize("engine", ENGINES)
def test_step_by_step_is_the_same_as_at_once_and_back(
    engine: str, tmp_path: Path, place: Callable[[str, str], str]
) -> None:
    slow, fast = (
        old_book("0001", _made(tmp_path / name), place(engine, name) if engine != "sqlite" else "")
        for name in ("slow", "fast")
    )
    upgrade_book(fast)
    steps = {"0001": seen(slow)}
    for revision in schema.REVISIONS[1:]:
        with slow.writing() as conn:
            schema.upgrade(conn, revision)
        steps[revision] = seen(slow)
    assert steps[schema.NEWEST] == seen(fast)
    for revision in reversed(OLD):
        downgrade_with_copy(slow, revision).unlink()  # the next may come in the same second
        assert (version_of(slow), seen(slow)) == (revision, steps[revision])


def _made(folder: Path) -> Path:
    folder.mkdir()
    return folder


class Cut(Exception):  # noqa: N818 - stands for the power
    """The upgrade ends here."""


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize(
    "down", [False, pytest.param(True, marks=pytest.mark.full)], ids=["up", "down"]
)
def test_what_is_cut_short_leaves_the_book_as_it_was(
    engine: str, *, down: bool, tmp_path: Path, place: Callable[[str, str], str]
) -> None:
    book = old_book("0002", tmp_path, place(engine, "cut") if engine != "sqlite" else "")
    if down:
        upgrade_book(book)
    before = seen(book)
    change = (lambda: downgrade_with_copy(book, "0002")) if down else (lambda: upgrade_book(book))
    for statement in (1, 90):
        with pytest.raises(Cut):
            _cut_at(book, change, statement)
        assert seen(book) == before
    change()
    assert version_of(book) == ("0002" if down else schema.NEWEST)


def _cut_at(book: Book, change: Callable[[], Any], changing: int) -> None:
    """Raise at the so-many-th statement that changes the schema."""
    left = changing

    def count(_conn: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        nonlocal left
        left -= statement.lstrip().startswith(("ALTER", "CREATE", "DROP"))
        if not left:
            raise Cut

    event.listen(book.engine, "before_cursor_execute", count)
    try:
        change()
    finally:
        event.remove(book.engine, "before_cursor_execute", count)


@pytest.mark.parametrize("revision", ["0001", "0006"])
def test_what_is_in_use_is_named_and_the_book_is_left(whole: FilledBook, revision: str) -> None:
    book = whole.book
    before, beside = seen(book), sorted(book.path.parent.iterdir()) if book.path else []
    with pytest.raises(StillInUse, match=f"schema {revision} has no place") as refusal:
        downgrade_with_copy(book, revision)
    assert refusal.value.where
    assert "the copy made before the upgrade" in refusal.value.todo
    assert (seen(book), sorted(book.path.parent.iterdir()) if book.path else []) == (before, beside)


@pytest.mark.parametrize(
    ("revision", "kind", "ref", "entry", "named"),
    [
        ("0006", "vehicle", "0009", Vehicle(designation="Ostra", holding=Holding.OWN, trim="T1"),
         "vehicle 0009 (trim)"),
        ("0006", "vehicle", "0009",
         Vehicle(designation="Ostra", holding=Holding.OWN, odometer_words=Words("turned back")),
         "vehicle 0009 (odometer_words)"),
        ("0007", "setting", "clock set right", Setting(value="2021-05-06T07:08:09+00:00"),
         "setting clock set right (all of it)"),
        ("0004", "setting", "bays", Setting(value="2"), "setting bays (all of it)"),
        ("0004", "person", "NW", Person(name=Words("Nella Wirt"), role="preparer", skills=("wax",)),
         "person NW (skills)"),
    ],
)  # fmt: skip
def test_one_field_in_use_is_enough(  # noqa: PLR0913, PLR0917 - the case, and where it is tried
    tmp_path: Path, revision: str, kind: str, ref: str, entry: Any, named: str
) -> None:
    book = old_book(revision, tmp_path)
    upgrade_book(book)
    add(book, kind, ref, entry)
    with pytest.raises(StillInUse) as refusal:
        downgrade_with_copy(book, revision)
    assert (refusal.value.where, version_of(book)) == (named, schema.NEWEST)
    assert "in 1 record." in refusal.value.what


def test_only_the_indexes_that_came_last_are_dropped(filled: FilledBook) -> None:
    book = filled.book
    with book.writing() as conn:
        conn.execute(text("CREATE INDEX of_their_own ON line (panel)"))
    before = seen(book)
    downgrade_with_copy(book, "0007")
    rows, parts = seen(book)
    kept = {name: held for name, held in before[0].items() if name not in OF_PAGES}
    assert (rows, parts - before[1]) == (kept, set())
    gone = [part for part in before[1] - parts if not any(t in " ".join(part) for t in OF_PAGES)]
    assert sorted(part[1] for part in gone) == BY_INDEX
    with book.reading() as conn:
        added = [change[1] for change in differences(conn) if change[0] == "add_index"]
    lacking = [index.name for index in added if index.table.name not in OF_PAGES]
    assert sorted(lacking) == BY_INDEX
    upgrade_book(book)
    assert seen(book) == before


BY_INDEX = ["ix_entity_current", "ix_line_person_work_date"]


def test_a_version_that_was_superseded_counts_too(tmp_path: Path) -> None:
    book = old_book("0006", tmp_path)
    upgrade_book(book)
    for trim in ("T1", None):
        add(book, "vehicle", "9", Vehicle(designation="Ostra", holding=Holding.OWN, trim=trim))
    with pytest.raises(StillInUse, match="vehicle 9"):
        downgrade_with_copy(book, "0006")


def test_a_row_behind_the_chain_is_not_dropped(tmp_path: Path) -> None:
    book = old_book("0006", tmp_path)
    upgrade_book(book)
    with book.writing() as conn:
        conn.execute(text("DROP TRIGGER posted_vehicle_update"))
        conn.execute(text("UPDATE vehicle SET trim = 'T1'"))
    with pytest.raises(StillInUse, match="table vehicle, column trim"):
        downgrade_with_copy(book, "0006")
    assert version_of(book) == schema.NEWEST


def test_only_an_older_schema_can_be_gone_back_to(tmp_path: Path) -> None:
    book = old_book("0003", tmp_path)
    for asked in ("0003", "0004", "0009", "head", ""):
        with pytest.raises(NoOlderSchema, match="0001, 0002"):
            downgrade_with_copy(book, asked)
    first = create_at(str(tmp_path / "first"), "0001")
    with pytest.raises(NoOlderSchema, match="There is none"):
        downgrade_with_copy(first, "0001")


@pytest.mark.parametrize("revision", OLD)
def test_every_kind_field_and_setting_is_known_by_the_schema_that_brought_it(
    revision: str,
) -> None:
    """What is there today less what later schemas brought is what the old program knew."""
    then, later = told(revision)["knows"], brought.later_than(revision)
    kinds = {kind for each in later for kind in brought.KINDS_BROUGHT[each]}
    left = {
        name: {field.name for field in fields(kind.entry)}
        - {f for each in later for f in brought.FIELDS_BROUGHT.get(each, {}).get(name, ())}
        for name, kind in KINDS.items()
        if name not in kinds
    }
    known = {name: set(names) for name, names in then["kinds"].items()}
    # The last program of 0004 knew these before there were columns for them.
    for name, early in EARLY.items() if revision == "0004" else ():
        known[name] -= early
    assert left == known
    settings = {name for each in later for name in brought.SETTINGS_BROUGHT.get(each, ())}
    assert set(SETTINGS) - settings == set(then["settings"])


EARLY = {
    "candidate": {"skills"},
    "terms": {
        "ask_above", "cut_off_time", "loss_limit", "next_sale_days", "next_sale_fee", "work_from",
    },
}  # fmt: skip
