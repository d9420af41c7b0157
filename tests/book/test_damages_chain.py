"""Chains rewritten so that they are whole in themselves, moments that cannot be, and the books."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import text

from recondition.book import reading
from recondition.book.check import against, check
from recondition.ledger.lines import Unlinked
from recondition.ledger.people import Setting
from tests.book.make import add, charge
from tests.book.tampering import behind, rewritten, said_of, tamper

if TYPE_CHECKING:
    from collections.abc import Callable

    from recondition.book.engine import Book
    from tests.book.make import FilledBook

Payload = dict[str, Any]


def noted(book: Book) -> list[Any]:
    with book.reading() as conn:
        return reading.heads(conn)


def of_car(whole: FilledBook) -> str:
    return f"vehicle:{whole.ids['0007']}"


def at_place(place: str, do: Callable[[Payload], None]) -> Callable[[Payload], None]:
    """Change the payload at one place of a chain only."""

    def change(payload: Payload) -> None:
        if payload["sequence"] == place:
            do(payload)

    return change


def recorded(moment: str) -> Callable[[Payload], None]:
    return lambda payload: payload.update(recorded_at=moment)


def earlier(**span: float) -> Callable[[Payload], None]:
    """Let a record be made earlier than it was, by so much."""

    def shift(payload: Payload) -> None:
        moment = datetime.fromisoformat(payload["recorded_at"]) - timedelta(**span)
        payload["recorded_at"] = moment.isoformat(timespec="microseconds")

    return shift


def ago(**span: float) -> str:
    return (datetime.now(UTC) - timedelta(**span)).isoformat(timespec="microseconds")


def test_a_chain_rewritten_with_new_hashes_is_found_by_noted_heads_alone(
    whole: FilledBook,
) -> None:
    """Whole in itself; that another person recorded it shows only against what was noted."""
    heads = noted(whole.book)
    person = whole.ids["HK"]
    rewritten(whole.book, of_car(whole), at_place("3", lambda p: p.update(author=person)))
    assert said_of(whole.book) == []
    (damage,) = against(whole.book, heads).damages
    assert "is not the one that was noted" in damage.what
    assert damage.touches.startswith("all entries of vehicle 0007")


def test_a_tail_cut_off_with_its_head_is_found_by_noted_heads_alone(whole: FilledBook) -> None:
    book = whole.book
    add(book, "charge", "L-90", charge(None, unlinked=Unlinked.OVERHEAD))
    heads = noted(book)
    last = "(SELECT max(sequence) FROM record WHERE subject = 'shop')"
    own = f"(SELECT id FROM record WHERE subject = 'shop' AND sequence = {last})"  # noqa: S608 - ours
    tamper(
        book,
        f"DELETE FROM line WHERE record_id = {own}",  # noqa: S608 - of our own making
        f"DELETE FROM free_text WHERE record_id = {own}",  # noqa: S608 - as above
        f"DELETE FROM entity WHERE id = {own}",  # noqa: S608 - as above
        f"DELETE FROM record WHERE id = {own}",  # noqa: S608 - as above
    )
    rewritten(book, "shop", lambda _: None)
    assert said_of(book) == []
    (damage,) = against(book, heads).damages
    assert "was noted and is gone" in damage.what


def test_records_that_changed_places_between_chains_are_found(whole: FilledBook) -> None:
    car, shop = of_car(whole), "shop"
    tamper(
        whole.book,
        f"UPDATE record SET subject = 'between' WHERE subject = '{car}' AND sequence = 4",  # noqa: S608
        f"UPDATE record SET subject = '{car}' WHERE subject = '{shop}' AND sequence = 4",  # noqa: S608
        f"UPDATE record SET subject = '{shop}' WHERE subject = 'between'",  # noqa: S608 - ours
    )
    said = said_of(whole.book)
    for subject in (car, shop):
        assert f"the record does not follow the one before ({subject}, record 4)" in said


def test_a_gap_and_a_place_that_is_taken_twice_are_found(whole: FilledBook) -> None:
    car = of_car(whole)
    where = f"WHERE subject = '{car}' AND sequence"
    tamper(whole.book, f"UPDATE record SET sequence = 9000 {where} = 4")  # noqa: S608 - ours
    assert f"record 4 is missing ({car})" in said_of(whole.book)
    tamper(whole.book, f"UPDATE record SET sequence = 0 {where} = 5")  # noqa: S608 - ours
    assert f"it stands where record 1 should be ({car})" in said_of(whole.book)


def test_a_forged_erasure_is_found(whole: FilledBook) -> None:
    """Its row is there without a record, and the text is missing."""
    tamper(
        whole.book,
        "INSERT INTO erasure (record_id, erased, field, ground) SELECT 'forged', id, 'words', "
        "'none' FROM entity WHERE ref = 'L-2'",
        "DELETE FROM free_text WHERE field = 'words' AND record_id = "
        "(SELECT id FROM entity WHERE ref = 'L-2')",
    )
    said = said_of(whole.book)
    assert "1 rows belong to no record of its kind (table erasure)" in said
    (words,) = [words for words in said if "no erasure is on record" in words]
    assert whole.ids["L-2"] in words


MOMENTS: dict[str, tuple[Callable[[], str], str]] = {
    "no moment": (lambda: "yesterday", "it was recorded at no moment with a zone: yesterday"),
    "no zone": (lambda: "2026-01-05T10:00:00", "it was recorded at no moment with a zone"),
    "no such day": (lambda: "2026-02-30T10:00:00+00:00", "it was recorded at no moment"),
    "the future": (lambda: ago(days=-400), "it was recorded in the future"),
    "before the one before": (lambda: ago(days=400), "before the record that it follows"),
}


@pytest.mark.long
@pytest.mark.parametrize("nonsense", MOMENTS)
def test_a_moment_that_cannot_be_is_found(whole: FilledBook, nonsense: str) -> None:
    moment, wanted = MOMENTS[nonsense]
    rewritten(whole.book, of_car(whole), at_place("4", recorded(moment())))
    assert [words for words in said_of(whole.book) if wanted in words]


def test_a_clock_that_differs_a_little_is_no_damage(whole: FilledBook) -> None:
    rewritten(whole.book, of_car(whole), at_place("4", earlier(minutes=9)))
    rewritten(whole.book, "shop", at_place("4", earlier(minutes=-5)))
    assert said_of(whole.book) == []


def test_a_clock_that_ran_ahead_is_no_damage_once_it_is_said(whole: FilledBook) -> None:
    """Up to the moment named; what was made later with such a clock still is."""
    ahead = ago(days=-2)
    rewritten(whole.book, of_car(whole), at_place("4", recorded(ahead)))
    said = said_of(whole.book)
    assert any("in the future" in words for words in said)
    assert any("before the record that it follows" in words for words in said)
    add(whole.book, "setting", "clock set right", Setting(value=ahead))
    assert said_of(whole.book) == []
    rewritten(whole.book, of_car(whole), at_place("6", recorded(ago(days=-3))))
    assert any("in the future" in words for words in said_of(whole.book))


@pytest.mark.long
@pytest.mark.parametrize(
    ("kind", "field", "value"),
    [
        ("finding", "found_on", "2031-02-30"),
        ("labour", "work_date", "soon"),
        ("labour", "started_at", "2031-03-04T25:00:00+00:00"),
        ("candidate", "uplift_basis", "neither"),
        ("terms", "labour_cost_rate", {"minor": "much", "currency": "USD"}),
    ],
)
def test_days_and_numbers_that_cannot_be_are_found(
    whole: FilledBook, kind: str, field: str, value: Any
) -> None:
    def change(payload: Payload) -> None:
        if payload["kind"] == kind:
            payload["entry"][field] = value

    rewritten(whole.book, of_car(whole), change)
    said = said_of(whole.book)
    assert [w for w in said if "what it says cannot be" in w or "text cannot be read" in w], said


def closed_one(payload: Payload) -> bool:
    return payload["kind"] == "period event"


def kept_journal(do: Callable[[Payload], None]) -> Callable[[Payload], None]:
    """Change the entry of a month's closing only."""

    def change(payload: Payload) -> None:
        if closed_one(payload):
            do(payload["entry"])

    return change


ENTRY = (
    '[{"day":"2030-12-31","document":"x","legs":[{"amount":"5","code":"1","name":"n",'
    '"role":"bank"}%s],"memo":"m","number":"2030-12/001"}]'
)
LEG = ',{"amount":"-%d","code":"2","name":"o","role":"overhead"}'
JOURNALS = {
    "no text of a journal": ("[{", "cannot be read"),
    "written in another way": (f" {ENTRY % (LEG % 5)}", "is not written as it was kept"),
    "one side more than the other": (ENTRY % (LEG % 4), "2030-12/001 that does not balance"),
    "another sum": (ENTRY % (LEG % 5), "does not come to the sum that was kept with it"),
}


@pytest.mark.long
@pytest.mark.parametrize("journal", JOURNALS)
def test_a_kept_journal_that_is_not_whole_is_found(whole: FilledBook, journal: str) -> None:
    kept, wanted = JOURNALS[journal]
    rewritten(whole.book, "shop", kept_journal(lambda entry: entry.update(journal=kept)))
    with behind(whole.book) as conn:
        conn.execute(text("UPDATE period_event SET journal = :kept"), {"kept": kept})
    assert [words for words in said_of(whole.book) if wanted in words]


def test_a_line_booked_in_a_month_that_was_closed_by_then_is_found(whole: FilledBook) -> None:
    def earlier(payload: Payload) -> None:
        if closed_one(payload):
            payload["recorded_at"] = ago(days=1)
        elif payload["kind"] == "charge":
            payload["priced"]["period"] = "2030-12"

    rewritten(whole.book, "shop", earlier)
    assert [w for w in said_of(whole.book) if "it was booked in 2030-12, which was closed" in w]


def test_the_stock_account_is_held_against_movements(whole: FilledBook) -> None:
    tamper(whole.book,
           "UPDATE movement SET price_difference_minor = price_difference_minor + 1")  # fmt: skip
    assert [words for words in said_of(whole.book) if words.startswith("stock is worth")]


def test_labour_in_a_kept_journal_is_held_against_the_lines(whole: FilledBook) -> None:
    kept = (ENTRY % (LEG % 5)).replace("overhead", "labour absorbed")
    rewritten(whole.book, "shop", kept_journal(lambda entry: entry.update(journal=kept)))
    wanted = "labour of 2030-12 is 0 by its lines and 5 by the journal"
    assert [words for words in said_of(whole.book) if words.startswith(wanted)]


def test_an_export_whose_entries_are_gone_or_other_is_found(whole: FilledBook) -> None:
    def upto(count: int, lines: str) -> Callable[[Payload], None]:
        def change(payload: Payload) -> None:
            if payload["kind"] == "export batch":
                payload["entry"] |= {"upto": f'{{"shop":"{count}"}}', "lines": lines}

        return change

    rewritten(whole.book, "shop", upto(9000, "1"))
    said = said_of(whole.book)
    assert any("entries that export EX-1 held are gone" in words for words in said)
    rewritten(whole.book, "shop", upto(5, "77"))
    assert any("export EX-1 says 77 lines, and" in words for words in said_of(whole.book))


def test_damage_says_what_it_touches_in_the_users_own_names(whole: FilledBook) -> None:
    tamper(whole.book, "UPDATE line SET cost_minor = 1 WHERE record_id = "
           "(SELECT id FROM entity WHERE ref = 'L-2')")  # fmt: skip
    (first, *_) = [d for d in check(whole.book).damages if "cost_minor is" in d.what]
    assert first.touches == (
        "part L-2 of vehicle 0007; period 2031-03; released editions of the work history: 2"
    )
    assert "whole in its chain" in first.todo
