"""A folder of photographs: all or nothing, every hostile file named, what the camera wrote."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from recondition.amounts import Quantity
from recondition.book import reading
from recondition.book.check import check
from recondition.book.engine import Book
from recondition.book.pictures import PIXELS_MAX, fault_of, taken_by_camera
from recondition.book.posting import Status
from recondition.intake.load import load
from recondition.intake.photographs import NoFolderOfPictures, keep_folder
from recondition.intake.problems import ImportRefused
from tests.intake.sheetmaker import base, write_folder
from tests.pictures import bomb, hostile, photograph, picture


@pytest.fixture
def shop(book: Book, tmp_path: Path) -> Book:
    load(book, write_folder(tmp_path / "sheets", base()), author_ref="HK")
    return book


def kept(book: Book) -> list[str]:
    return (
        sorted(str(p) for p in book.files.rglob("*") if p.is_file()) if book.files.exists() else []
    )


def records(book: Book) -> int:
    return check(book).counts["records"]


def test_a_hostile_folder_changes_nothing_and_names_each(shop: Book, tmp_path: Path) -> None:
    folder = tmp_path / "camera"
    folder.mkdir()
    (folder / "good.jpg").write_bytes(photograph("2031:03:04 09:30:00", "-05:00"))
    why = hostile(folder)
    before = records(shop)
    with pytest.raises(ImportRefused) as refused:
        keep_folder(shop, "0007", folder, {}, author_ref="HK", zone="")
    told = refused.value.words()
    assert refused.value.problems.total == len(why)
    assert "good.jpg" not in told
    assert "\x1b" not in told
    assert "\u202e" not in told
    for name, reason in why.items():
        shown = "".join(c if c.isprintable() else f"[U+{ord(c):04X}]" for c in name)
        (line,) = [row for row in told.splitlines() if f", {shown}:" in row]
        assert reason in line
    assert records(shop) == before
    assert kept(shop) == []
    assert check(shop).damages == []


def test_a_hostile_picture_in_a_workbook_is_named_and_nothing_written(
    shop: Book, tmp_path: Path
) -> None:
    sheets = base()
    rows = [["ref", "vehicle", "kind", "title", "file"]]
    folder = tmp_path / "second"
    names = {"D-1": "cut.jpg", "D-2": "../outside.jpg", "D-3": "bomb.png"}
    rows += [[ref, "0007", "photograph", "bonnet", name] for ref, name in names.items()]
    write_folder(folder, {**sheets, "documents": rows})
    hostile(folder)
    (tmp_path / "outside.jpg").write_bytes(picture("JPEG"))
    before = records(shop)
    with pytest.raises(ImportRefused) as refused:
        load(shop, folder, author_ref="HK")
    assert "outside the folder" in refused.value.words()
    (folder / "documents.csv").unlink()
    write_folder(tmp_path / "third", {"documents": [rows[0], rows[1], rows[3]]})
    for name in ("cut.jpg", "bomb.png"):
        (tmp_path / "third" / name).write_bytes((folder / name).read_bytes())
    with pytest.raises(ImportRefused) as refused:
        load(shop, tmp_path / "third", author_ref="HK")
    assert ("cut.jpg" in refused.value.words(), "bomb.png" in refused.value.words()) == (True, True)
    assert (records(shop), kept(shop)) == (before, [])


def test_photographs_keep_their_bytes_their_zone_and_the_cameras_offset(
    shop: Book, tmp_path: Path
) -> None:
    folder = tmp_path / "camera"
    folder.mkdir()
    first = photograph("2031:03:04 09:30:00", "-05:00", shade=10)
    second = photograph("2031:03:04 09:31:00", shade=20)
    (folder / "a.jpg").write_bytes(first)
    (folder / "b.jpg").write_bytes(second)
    (folder / "c.png").write_bytes(picture())
    given = {"camera_ahead": "90 s", "panel": "bonn"}
    results = keep_folder(shop, "0007", folder, given, author_ref="HK", zone="+01:00")
    assert [result.status for result in results] == [Status.NEW] * 3
    with shop.reading() as conn:
        found = {d.entry.title: d.entry for d in reading.stored(conn, "document")}
    assert found["a"].taken_at == "2031-03-04T09:30:00-05:00"
    assert found["a"].moment.isoformat() == "2031-03-04T09:28:30-05:00"
    assert found["b"].taken_at == "2031-03-04T09:31:00+01:00"
    assert found["b"].camera_ahead == Quantity(Decimal(90), "s")
    assert (found["c"].taken_at, found["c"].panel) == (None, "bonnet")
    assert {Path(p).read_bytes() for p in kept(shop)} == {first, second, picture()}
    again = keep_folder(shop, "0007", folder, given, author_ref="HK", zone="+01:00")
    assert [result.status for result in again] == [Status.SAME] * 3
    with pytest.raises(NoFolderOfPictures):
        keep_folder(shop, "0007", tmp_path / "nowhere", {}, author_ref="HK", zone="")


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_any_cut_of_a_picture_is_seen(kind: str) -> None:
    whole = picture(kind, (64, 64))
    assert fault_of(whole) == ""
    for part in (0.2, 0.5, 0.8):
        assert fault_of(whole[: int(len(whole) * part)])


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    assert "pixels" in fault_of(bomb())
    assert "pixels" in fault_of(bomb(PIXELS_MAX // 8000 + 1, 8000))
    assert taken_by_camera(b"not a picture") is None
    assert taken_by_camera(photograph("no moment at all")) is None
