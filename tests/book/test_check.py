"""Each injected damage is found, past guards that are taken off and put back."""

# ruff: noqa: S608 - every statement here is of our own making
from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from recondition.book import reading
from recondition.book.check import against, check
from recondition.book.engine import open_book
from tests.book.make import FilledBook, add, charge
from tests.book.tampering import raw_file, said_of, tamper

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book


@pytest.fixture(params=["sqlite"])
def in_file(whole: FilledBook) -> FilledBook:
    """Give a filled book that is a file of SQLite."""
    return whole


OF = "record_id = (SELECT id FROM entity WHERE ref = '{}')"
LAST = "sequence = (SELECT max(sequence) FROM record r WHERE r.subject = record.subject)"
VEHICLE = "subject = (SELECT subject FROM entity WHERE ref = '0007')"
ROWS = "DELETE FROM {} WHERE record_id NOT IN (SELECT id FROM record)"
ORPHANS = [ROWS.format("free_text"), ROWS.format("finding")]

# What is done to the file, and a part of what the check must say about it.
DAMAGES: dict[str, tuple[list[str], str]] = {
    "cost of a line": (
        [f"UPDATE line SET cost_minor = cost_minor + 1 WHERE {OF.format('L-2')}"],
        " in its chain (table line",
    ),
    "text of a record": (
        [f"UPDATE record SET canonical = replace(canonical, '30001', '30002') WHERE {VEHICLE}"],
        "the text does not match its hash",
    ),
    "text of a record that is no text": (
        [f"UPDATE record SET canonical = '[' WHERE {VEHICLE} AND sequence = 4"],
        "the text cannot be read",
    ),
    "text of a record that is another": (
        [f"UPDATE record SET canonical = '{{}}' WHERE {VEHICLE} AND sequence = 4"],
        "the text cannot be read",
    ),
    "text of a record in part": (
        [f"UPDATE record SET canonical = replace(canonical, 'links', 'lynks') WHERE {VEHICLE}"],
        "the text does not match its hash",
    ),
    "hash of a record": (
        [f"UPDATE record SET hash = 'f' || substr(hash, 2) || 'f' WHERE {VEHICLE} AND {LAST}"],
        "the text does not match its hash",
    ),
    "link to the record before": (
        [f"UPDATE record SET previous = hash WHERE {VEHICLE} AND sequence = 3"],
        "the record does not follow the one before",
    ),
    "author column": (
        ["UPDATE record SET author = 'me' WHERE sequence = 3"],
        "author differ from what the chain says (table record",
    ),
    "cut tail": (
        [f"DELETE FROM record WHERE {VEHICLE} AND {LAST}", *ORPHANS],
        "the head says",
    ),
    "middle record": (
        [f"DELETE FROM record WHERE {VEHICLE} AND sequence = 3", *ORPHANS],
        "record 3 is missing",
    ),
    "whole chain": ([f"DELETE FROM record WHERE {VEHICLE}"], "the chain's records are gone"),
    "code of an edition": (
        [f"UPDATE edition SET code = 'other' WHERE {OF.format('ED-001')}"],
        "code differ from what the chain says (table edition",
    ),
    "day of a consent": (
        [f"UPDATE consent SET withdrawn_on = '2031-03-05' WHERE {OF.format('HC-1')}"],
        "withdrawn_on differ from what the chain says (table consent",
    ),
    "place that is hidden": (
        [f"UPDATE redaction SET width = '1' WHERE {OF.format('RD-1')}"],
        "width differ from what the chain says (table redaction",
    ),
    "day an edition was withdrawn": (
        [f"UPDATE edition_withdrawn SET withdrawn_on = 'x' WHERE {OF.format('EW-001')}"],
        "withdrawn_on differ from what the chain says (table edition_withdrawn",
    ),
    "hit that was let pass": (
        [f"UPDATE let_pass SET hit = '00000000' WHERE {OF.format('LP-001')}"],
        "hit differ from what the chain says (table let_pass",
    ),
    "share": (
        [f"UPDATE share SET cost_minor = cost_minor + 1 WHERE {OF.format('L-2')}"],
        "(table share",
    ),
    "share taken away": ([f"DELETE FROM share WHERE {OF.format('L-3')}"], "(table share"),
    "relation": (
        ["UPDATE relation SET position = position + 7 WHERE field = 'findings'"],
        "(table relation",
    ),
    "free text": (
        [f"UPDATE free_text SET content = 'no' WHERE {OF.format('L-2')} AND field = 'words'"],
        "the text differs from what the chain fixed",
    ),
    "salt": (
        [f"UPDATE free_text SET salt = {{ZEROS}} WHERE {OF.format('L-2')}"],
        "the text differs from what the chain fixed",
    ),
    "free text taken away": (
        [f"DELETE FROM free_text WHERE {OF.format('L-2')} AND field = 'words'"],
        "the text is gone and no erasure is on record",
    ),
    "free text added": (
        ["INSERT INTO free_text SELECT record_id, 'extra', salt, content FROM free_text LIMIT 1"],
        "a text the chain does not know",
    ),
    "ref": (
        ["UPDATE entity SET ref = 'L-2b' WHERE ref = 'L-2'"],
        "its ref differs from what was given (entity L-2b)",
    ),
    "kind of a name": (
        ["UPDATE entity SET kind = 'part' WHERE ref = 'L-1'"],
        "its kind or chain differs from its record's (entity L-1)",
    ),
    "chain of a name": (
        ["UPDATE entity SET subject = 'shop' WHERE ref = 'L-1'"],
        "its kind or chain differs from its record's (entity L-1)",
    ),
    "older version made current": (
        ["UPDATE entity SET current = id WHERE ref = 'F-1'"],
        "it does not point at its newest version",
    ),
    "name taken away": (
        ["DELETE FROM entity WHERE ref = 'L-2'"],
        "the name of the record is missing",
    ),
    "head count": ([f"UPDATE chain_head SET count = count - 1 WHERE {VEHICLE}"], "the head says"),
    "head hash": (
        [f"UPDATE chain_head SET hash = '{'0' * 64}' WHERE {VEHICLE}"],
        "the head is not the hash of the last record",
    ),
    "head taken away": (
        [f"DELETE FROM chain_head WHERE {VEHICLE}"],
        "the chain has no head",
    ),
    "row of no record": (
        ["INSERT INTO person (record_id, role) VALUES ('stray', 'owner')"],
        "1 rows belong to no record of its kind (table person",
    ),
    "row of another kind's record": (
        ["INSERT INTO person (record_id, role) SELECT id, 'owner' FROM entity WHERE ref = 'F-1'"],
        "1 rows belong to no record of its kind (table person",
    ),
    "row taken away": (
        [f"DELETE FROM panel WHERE {OF.format('P-1')}"],
        "the row is missing (table panel",
    ),
    "broken foreign key": (
        [f"UPDATE line SET candidate = 'nothing' WHERE {OF.format('L-1')}"],
        "at a record that is not there (table line",
    ),
    "line taken from under its reversal": (
        ["DELETE FROM record WHERE id = (SELECT id FROM entity WHERE ref = 'L-1')"],
        "the line it takes back is not there",
    ),
    "kept file's row taken away": (
        [f"DELETE FROM stored_file WHERE {OF.format('D-1')}"],
        "the text is gone and no erasure is on record (text 'file'",
    ),
    "kept file's hash": (
        ["UPDATE stored_file SET sha256 = 'ff' || substr(sha256, 3)"],
        "the file is missing",
    ),
}


def hold_found(book: Book, damage: str) -> None:
    """Do one damage of the list to a book, and hold that it is found."""
    statements, wanted = DAMAGES[damage]
    zeros = "decode(repeat('00', 32), 'hex')" if book.path is None else "zeroblob(32)"
    tamper(book, *(each.replace("{ZEROS}", zeros) for each in statements))
    said = said_of(book)
    assert [words for words in said if wanted in words], said


def test_a_whole_book_shows_no_damage(whole: FilledBook) -> None:
    examined = check(whole.book)
    assert examined.damages == []
    looked = {name: examined.counts[name] for name in ("chains", "files", "shared lines")}
    # The shop, two vehicles and two products; three lines with shares.
    assert looked == {"chains": 5, "files": 1, "shared lines": 4}
    # The shop's start, what it buys, the car, its lines; then three that change something;
    # then stock, a clock, an order and an owner's answers, with the movements of stock; then
    # one of each kind of the bench, four of the decision, ten of the books and two shared out;
    # then two consents, a hidden place, what was let pass, two editions and a withdrawal.
    kinds = (9, 3, 7, 5, 3, 17, 7, 9, 4, 10, 2, 7)
    assert examined.counts["records"] == sum(kinds)


@pytest.mark.parametrize(
    "damage",
    [pytest.param(d, marks=[pytest.mark.long] if n % 3 else []) for n, d in enumerate(DAMAGES)],
)
def test_each_damage_is_found(whole: FilledBook, damage: str) -> None:
    hold_found(whole.book, damage)


def test_a_kept_file_that_is_gone_or_changed_is_found(whole: FilledBook) -> None:
    (kept,) = [file for file in whole.book.files.rglob("*") if file.is_file()]
    content = kept.read_bytes()
    kept.write_bytes(content[:-1] + b"?")
    (changed,) = said_of(whole.book)
    kept.unlink()
    (gone,) = said_of(whole.book)
    assert (changed.startswith("the file was changed"), gone.startswith("the file is missing")) == (
        True, True
    )  # fmt: skip
    kept.write_bytes(content)
    assert said_of(whole.book) == []


def test_a_damaged_database_page_is_found(in_file: FilledBook) -> None:
    """An index that lost its entries: SQLite's own check speaks."""
    with raw_file(in_file.book) as raw:
        raw.execute("PRAGMA writable_schema = ON")
        raw.execute("UPDATE sqlite_master SET rootpage = (SELECT rootpage FROM sqlite_master "
                    "WHERE name = 'ix_share_finding') WHERE name = 'ix_line_person'")  # fmt: skip
    assert [words for words in said_of(in_file.book) if "the database reports" in words]


def test_noted_heads_hold_while_the_book_grows(whole: FilledBook) -> None:
    with whole.book.reading() as conn:
        noted = reading.heads(conn)
    add(whole.book, "charge", "L-9", charge(whole.ids["0007"]))
    examined = against(whole.book, noted)
    assert (examined.damages, examined.counts["noted heads"]) == ([], 5)


def test_a_book_put_back_to_an_older_copy_is_found_by_noted_heads(
    in_file: FilledBook, tmp_path: Path
) -> None:
    """The older copy is whole in itself: only heads noted outside tell."""
    path = in_file.book.path
    assert path is not None
    shutil.copy(path, tmp_path / "older.sqlite")
    add(in_file.book, "charge", "L-9", charge(in_file.ids["0007"]))
    with in_file.book.reading() as conn:
        noted = reading.heads(conn)
    shutil.copy(tmp_path / "older.sqlite", path)
    assert said_of(in_file.book) == []
    (damage,) = against(in_file.book, noted).damages
    assert ("was noted and is gone" in damage.what, damage.where.startswith("vehicle:")) == (
        True, True
    )  # fmt: skip


def test_a_book_written_again_after_going_back_is_found_too(
    in_file: FilledBook, tmp_path: Path
) -> None:
    path = in_file.book.path
    assert path is not None
    shutil.copy(path, tmp_path / "other.sqlite")
    add(in_file.book, "charge", "L-9", charge(in_file.ids["0007"]))
    with in_file.book.reading() as conn:
        noted = reading.heads(conn)
    other = open_book(str(tmp_path / "other.sqlite"))
    add(other, "charge", "L-9", charge(in_file.ids["0007"], "9.99"))
    (damage,) = against(other, noted).damages
    assert "is not the one that was noted" in damage.what


def test_more_records_than_one_batch_are_all_looked_at(
    whole: FilledBook, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("recondition.book.check_chains.BATCH", 3)
    assert said_of(whole.book) == []
    statements, wanted = DAMAGES["cost of a line"]
    tamper(whole.book, *statements)
    assert len([words for words in said_of(whole.book) if wanted in words]) == 1
