"""The trail, links for buyers, and that both travel, are guarded and can be let go of."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import Text, delete, exc, insert, select, text, update

from recondition.book import logins, sessions, share_links, trail
from recondition.book.about import about
from recondition.book.backup import backup, restore, upgrade_with_copy
from recondition.book.check import check
from recondition.book.context import NotThere
from recondition.book.copying import copy_book
from recondition.book.engine import RollBack, open_any
from recondition.book.lowering import StillInUse, downgrade_with_copy
from recondition.book.people import erase_person, restrict_person
from recondition.book.roles import Role
from recondition.book.share_links import EditionGone, NotSoManyDays
from recondition.book.tables import METADATA
from recondition.book.tables_logins import KEPT, OF_PAGES, PASSING, UNCHANGED, login
from tests.book.make import shop
from tests.book.make_logins import GOOD, OTHER, Clock, on_pages, quickly, signed_up
from tests.book.tampering import behind, said_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from recondition.book.engine import Book
    from tests.book.make import FilledBook, Shop
    from tests.postgres import Databases


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    yield from quickly(monkeypatch)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def made(book: Book) -> Shop:
    return shop(book)


@pytest.fixture
def pages(book: Book, made: Shop, clock: Clock) -> Book:
    """Give a book in which HK, who is on record as HK, is a dealer."""
    with_clock = clock.on(book)
    signed_up(with_clock, "hanna", Role.DEALER, "HK")
    assert made.person
    return with_clock


def rows(book: Book) -> dict[str, list[Any]]:
    with book.reading() as conn:
        return {
            name: sorted(map(repr, conn.execute(select(METADATA.tables[name])).all()))
            for name in sorted(OF_PAGES)
        }


def texts(book: Book) -> str:
    """Join what stands in every column of text of every table."""
    found: list[str] = []
    with book.reading() as conn:
        for table in METADATA.sorted_tables:
            columns = [column for column in table.columns if isinstance(column.type, Text)]
            found += [str(cell) for row in conn.execute(select(*columns)) for cell in row]
    return "\n".join(found)


def test_the_trail_is_read_newest_first_in_pages(pages: Book, clock: Clock) -> None:
    with pages.reading() as conn:
        (who,) = logins.listed(conn)
    for number in range(5):
        clock.go(seconds=number % 2)  # so that some are of the same moment
        trail.noted(pages, action="posted", login_id=who.id, subject=f"{number}", detail="labour")
    with pages.reading() as conn:
        whole = trail.listed(conn, limit=100)
        first = trail.listed(conn, limit=3)
        rest = trail.listed(conn, limit=100, before=first[-1].id)
        assert trail.listed(conn, limit=9, before="none") == []
        assert trail.listed(conn, limit=9, before=whole[-1].id) == []
    assert [*first, *rest] == whole
    assert [each.at for each in whole] == sorted((each.at for each in whole), reverse=True)
    assert {each.subject for each in whole[:5]} == set("01234")
    assert (whole[0].login, whole[0].role, whole[0].about) == ("hanna", "dealer", "")
    assert whole[0].at == clock.at


def test_what_is_noted_is_kept_with_what_it_is_about_or_not_at_all(pages: Book) -> None:
    before = rows(pages)
    with pages.writing() as conn:
        trail.note(conn, at=pages.now(), action="posted", subject="0007", address="192.0.2.7")
        raise RollBack
    assert rows(pages) == before


def test_a_text_that_no_database_takes_is_noted_all_the_same(pages: Book) -> None:
    trail.noted(pages, action="posted", detail="a\x00b\ud800c\n" + "x" * 999, address="y" * 999)
    with pages.reading() as conn:
        (row,) = trail.listed(conn, limit=1)
    assert row.detail.startswith("a?b?c?xxx")
    assert (len(row.detail), len(row.address)) == (trail.WORDS_MAX, trail.WORDS_MAX)


def attacks(book: Book, name: str) -> Iterator[tuple[str, Any]]:
    """Give what would change the one row of a table, or put another in its place."""
    table = METADATA.tables[name]
    with book.reading() as conn:
        row = dict(conn.execute(select(table)).mappings().one())
    other = list(row)[-1]
    yield "update", update(table).values({other: "another"})
    yield "insert", insert(table).values(row | {other: "another"})
    names = ", ".join(f'"{each}"' for each in row)
    given = f'INTO "{name}" ({names}) VALUES ({", ".join(f":{each}" for each in row)})'
    if book.path is not None:
        yield "replace", text(f"INSERT OR REPLACE {given}").bindparams(**row)
    else:
        yield "truncate", text(f'TRUNCATE "{name}" CASCADE')
    if name in KEPT:
        yield "delete", delete(table)


@pytest.mark.parametrize("name", [*KEPT, *UNCHANGED])
def test_the_trail_cannot_be_changed(book: Book, made: Shop, name: str) -> None:
    on_pages(book, made.person, made.own)
    before = rows(book)
    for attack, statement in attacks(book, name):
        with pytest.raises(exc.DBAPIError) as refusal, book.writing() as conn:
            conn.execute(statement)
        assert "never changed" in str(refusal.value.orig), attack
    assert rows(book) == before
    assert check(book).damages == []


def test_words_and_addresses_may_go(book: Book, made: Shop) -> None:
    on_pages(book, made.person, made.own)
    with book.writing() as conn:
        for name in UNCHANGED:
            conn.execute(delete(METADATA.tables[name]))
    with book.reading() as conn:
        (row,) = trail.listed(conn, limit=9)
    assert (row.action, row.subject, row.detail, row.address) == ("made done", "", "", "")
    assert check(book).damages == []


def test_damage_to_the_tables_of_the_pages_is_found(book: Book, made: Shop) -> None:
    on_pages(book, made.person, made.own)
    on = "" if book.path else " ON trail"
    with behind(book) as conn:
        conn.execute(update(login).values(person="nobody"))
        conn.execute(delete(METADATA.tables["login_session"]))
        conn.execute(update(METADATA.tables["login_token"]).values(login="gone"))
    with book.engine.begin() as conn:
        conn.exec_driver_sql(f"DROP TRIGGER posted_trail_delete{on}")
        conn.exec_driver_sql("DROP TABLE login_session")
    said = said_of(book)
    assert "the guard posted_trail_delete is missing or altered (table trail)" in said
    assert "the table is missing (table login_session)" in said
    assert any("point" in words and "at a record" in words and "login" in words for words in said)
    assert any("at a login that is not there" in words for words in said)


def lasting(book: Book) -> dict[str, list[Any]]:
    """Give the rows of the pages as a copy has them: nobody is signed in to it."""
    return {name: [] if name in PASSING else held for name, held in rows(book).items()}


def test_what_the_pages_keep_travels(small: Book, tmp_path: Path) -> None:
    made = shop(small)
    on_pages(small, made.person, made.own)
    assert all(len(held) == 1 for held in rows(small).values())
    wanted = lasting(small)
    backup(small, tmp_path / "one.backup")
    assert rows(restore(tmp_path / "one.backup", tmp_path / "restored.book")) == wanted
    copy_book(small.location, str(tmp_path / "copy.book"))
    assert rows(open_any(str(tmp_path / "copy.book"))) == wanted


@pytest.mark.long
def test_it_travels_from_one_engine_to_the_other(
    small: Book, new_database: Databases, tmp_path: Path
) -> None:
    made = shop(small)
    on_pages(small, made.person, made.own)
    there = new_database("travels")
    copy_book(small.location, there)
    copy_book(there, str(tmp_path / "back.book"))
    for location in (there, str(tmp_path / "back.book")):
        book = open_any(location)
        assert rows(book) == lasting(small)
        assert check(book).damages == []
        book.close()


def test_a_book_goes_down_only_without_logins_and_sessions_go_with_it(
    book: Book, made: Shop
) -> None:
    on_pages(book, made.person, made.own)
    with pytest.raises(StillInUse) as refusal:
        downgrade_with_copy(book, "0008")
    assert refusal.value.where.startswith("table trail_")
    with behind(book) as conn:
        for table in reversed(METADATA.sorted_tables):
            if table.name in OF_PAGES - {"login_try"}:
                conn.execute(delete(table))
    downgrade_with_copy(book, "0008").unlink()
    upgrade_with_copy(book)
    assert not any(rows(book).values())
    assert check(book).damages == []


def test_a_link_shows_one_vehicle_until_it_ends_or_is_withdrawn(pages: Book, clock: Clock) -> None:
    for_good = share_links.make(pages, "0007", number=None, by=trail.By("HANNA"), days=None)
    a_week = share_links.make(pages, "0008", number=None, by=None, days=7)
    assert share_links.found(pages, for_good) == ("0007", None)
    assert share_links.found(pages, a_week) == ("0008", None)
    for none in ("", for_good + "x", "\ud800"):
        assert share_links.found(pages, none) is None
    clock.go(days=7, seconds=-1)
    assert share_links.found(pages, a_week)
    clock.go(seconds=1)
    assert share_links.found(pages, a_week) is None
    with pages.reading() as conn:
        (link,) = share_links.listed(conn, "0007")
        (other,) = share_links.listed(conn, "0008")
        assert len(share_links.listed(conn)) == 2
    assert (link.vehicle, link.number, link.made_by, link.ends_at) == ("0007", None, "hanna", None)
    assert (other.made_by, other.holds(clock.at)) == ("", False)
    assert other.holds(clock.at - timedelta(seconds=1))
    for _ in range(2):
        share_links.withdraw(pages, link.id, trail.By("hanna"))
    assert share_links.found(pages, for_good) is None
    with pages.reading() as conn:
        (link,) = share_links.listed(conn, "0007")
        said = [(each.login, each.action, each.subject) for each in trail.listed(conn, limit=3)]
    assert (link.withdrawn_at, link.holds(clock.at)) == (clock.at, False)
    assert said == [
        ("hanna", "link withdrawn", "0007"),
        ("", "link made", "0008"),
        ("hanna", "link made", "0007"),
    ]
    assert check(pages).damages == []


def test_a_link_is_to_an_edition_that_stands(filled: FilledBook) -> None:
    book = filled.book
    token = share_links.make(book, "0007", number=2, by=None, days=1)
    assert share_links.found(book, token) == ("0007", 2)
    for wrong, refusal in ((99, NotThere), (1, EditionGone)):
        with pytest.raises(refusal):
            share_links.make(book, "0007", number=wrong, by=None, days=None)
    for days in (0, -1, 3661):
        with pytest.raises(NotSoManyDays):
            share_links.make(book, "0007", number=None, by=None, days=days)
    with pytest.raises(NotThere, match="vehicle"):
        share_links.make(book, "0070", number=None, by=None, days=None)
    with pytest.raises(NotThere, match="link"):
        share_links.withdraw(book, "none", None)


def test_all_that_the_pages_keep_about_somebody_is_handed_out(pages: Book) -> None:
    sessions.sign_in(pages, "hanna", GOOD, address="192.0.2.7")
    share_links.make(pages, "0007", number=None, by=trail.By("hanna"), days=None)
    logins.add(pages, "odile", Role.SELLER, "OW", by=trail.By("hanna"))
    with pages.reading() as conn:
        found = about(conn, "person", "HK")["on the pages"]
        other = about(conn, "person", "OW")["on the pages"]
        secret = conn.execute(select(login.c.password_hash).where(login.c.name == "hanna")).scalar()
    assert [each["name"] for each in found["logins"]] == ["hanna"]
    assert len(found["signed in"]) == len(found["links made"]) == 1
    assert [
        (each["action"], each["by this person"], each["address"]) for each in found["trail"]
    ] == [
        ("login made", False, ""),
        ("password set", True, ""),
        ("signed in", True, "192.0.2.7"),
        ("link made", True, ""),
        ("login made", True, ""),
    ]
    assert [each["action"] for each in other["trail"]] == ["login made"]
    assert str(secret) not in json.dumps(found)


@pytest.mark.parametrize("restricted", [False, True])
def test_somebody_erased_or_restricted_is_gone_from_the_pages(
    pages: Book, made: Shop, clock: Clock, *, restricted: bool
) -> None:
    signed_up(pages, "zeb-the-helper", Role.SELLER, "OW", OTHER)
    token = sessions.sign_in(pages, "zeb-the-helper", OTHER, address="192.0.2.99")
    with pytest.raises(sessions.WrongNameOrPassword):
        sessions.sign_in(pages, "zeb-the-helper", GOOD, address="192.0.2.98")
    trail.noted(pages, action="posted", subject="OW", detail="people")
    trail.noted(pages, action="posted", subject="S-1", detail="as zeb-the-helper asked")
    trail.noted(pages, action="posted", subject="0007", detail="labour", address="192.0.2.1")
    with pages.reading() as conn:
        before = len(trail.listed(conn, limit=100))
    for word in ("zeb-the-helper", "192.0.2.99", "192.0.2.98"):
        assert word in texts(pages)
    given: dict[str, Any] = {"author": made.person, "ground": "request of 4 March"}
    if restricted:
        until = clock.at.date() + timedelta(days=400)
        restrict_person(pages, "OW", until=until, **given)
    else:
        erase_person(pages, "OW", **given)
    for word in ("zeb-the-helper", "192.0.2.99", "192.0.2.98"):
        assert word not in texts(pages)
    assert sessions.visiting(pages, token) is None
    with pages.reading() as conn:
        found = trail.listed(conn, limit=100)
    assert len(found) == before + 1
    assert found[0].action == "login erased"
    assert not [each for each in found if "OW" in (each.subject, each.detail)]
    (kept,) = [each for each in found if each.subject == "0007"]
    assert (kept.detail, kept.address) == ("labour", "192.0.2.1")
    assert check(pages).damages == []
