"""Named tricks with a workbook: bounded time and memory, and a clear no."""

from __future__ import annotations

import struct
import zipfile
from typing import TYPE_CHECKING

import pytest

from tests.hostile import good
from tests.hostile.cases import mostly_long
from tests.hostile.confined import ran, refused

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

MAIN = b'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
PEOPLE, BOOK, STYLES = "xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/styles.xml"
TEXTS, TYPES = "xl/sharedStrings.xml", "[Content_Types].xml"
RELATIONS = "xl/_rels/workbook.xml.rels"
DAMAGED = "damaged: its contents cannot be read"


def sheet(rows: bytes, before: bytes = b"", after: bytes = b"") -> bytes:
    """Give the part of a sheet with such rows."""
    head = b"<worksheet " + MAIN + b"><sheetData>"
    return before + head + rows + b"</sheetData>" + after + b"</worksheet>"


def styles(inner: bytes) -> bytes:
    """Give the part of the formats."""
    return b"<styleSheet " + MAIN + b"><cellXfs>" + inner + b"</cellXfs></styleSheet>"


def texts(inner: bytes) -> bytes:
    """Give the part of the texts that cells share."""
    return b"<sst " + MAIN + b">" + inner + b"</sst>"


def inline(text: bytes) -> bytes:
    """Give a row of one text."""
    return b'<row><c t="inlineStr"><is><t>' + text + b"</t></is></c></row>"


def entities(count: int = 12) -> bytes:
    """Declare entities of which each is ten of the one before."""
    lines = (b'<!ENTITY a%d "%s">' % (n, b"&a%d;" % (n - 1) * 10) for n in range(1, count))
    return b'<!DOCTYPE w [<!ENTITY a0 "ha">' + b"".join(lines) + b"]>"


def external(address: bytes) -> bytes:
    """Declare an entity that lies elsewhere."""
    return b'<!DOCTYPE w [<!ENTITY a SYSTEM "' + address + b'">]>'


def in_utf_16(part: bytes) -> bytes:
    """Write a part in UTF-16, where no search for its bytes finds anything."""
    return part.decode().encode("utf-16")


def same_part_twice(parts: dict[str, bytes]) -> None:
    """Let all sheets lie in one part."""
    for number in range(2, 6):
        old = f"sheet{number}.xml".encode()
        parts[RELATIONS] = parts[RELATIONS].replace(old, b"sheet1.xml")


def outside_what_is_looked_at(parts: dict[str, bytes]) -> None:
    """Let a sheet lie in a part that is no XML by its name."""
    parts["xl/worksheets/sheet1.bin"] = sheet(inline(b"&a11;"), entities())
    parts[RELATIONS] = parts[RELATIONS].replace(b"sheet1.xml", b"sheet1.bin")


LAUGH = sheet(inline(b"&a11;"), entities())
TRICKS: dict[str, tuple[Callable[[], dict[str, bytes]], str]] = {
    "laughs": (lambda: {PEOPLE: LAUGH}, DAMAGED),
    "laughs in UTF-16": (lambda: {PEOPLE: in_utf_16(LAUGH)}, DAMAGED),
    "laughs in an attribute": (
        lambda: {PEOPLE: sheet(b'<row r="&a11;"/>', entities())}, DAMAGED),
    "laughs in the texts": (lambda: {TEXTS: entities() + texts(b"<si><t>&a11;</t></si>")}, DAMAGED),
    "laughs in the relations": (lambda: {RELATIONS: entities() + b"<R>&a11;</R>"}, DAMAGED),
    "a file": (lambda: {PEOPLE: sheet(inline(b"&a;"), external(b"file:///etc/passwd"))}, DAMAGED),
    "an address": (
        lambda: {PEOPLE: sheet(inline(b"&a;"), external(b"http://127.0.0.1:9/"))}, DAMAGED),
    "a parameter entity": (
        lambda: {BOOK: b'<!DOCTYPE w [<!ENTITY % a SYSTEM "file:///etc/passwd"> %a;]><w/>'},
        DAMAGED),
    "a document type": (lambda: {PEOPLE: sheet(b"", b"<!DOCTYPE worksheet>")}, DAMAGED),
    "columns": (
        lambda: {PEOPLE: sheet(b"<row>" + b"<c/>" * 10**6 + b"</row>")}, "cells in one row"),
    "columns past the last": (
        lambda: {PEOPLE: sheet(b'<row><c r="ZZZZ1"><v>1</v></c></row>')}, DAMAGED),
    "rows": (lambda: {PEOPLE: sheet(b"<row/>" * 1_100_000)}, "rows on one sheet"),
    "a far row": (
        lambda: {PEOPLE: sheet(b'<row r="1000000000"><c><v>1</v></c></row>')}, "rows on one sheet"),
    "a row of many figures": (
        lambda: {PEOPLE: sheet(b'<row r="' + b"9" * 10**5 + b'"/>')}, DAMAGED),
    "no row": (lambda: {PEOPLE: sheet(b'<row r="nan"/>')}, "rows on one sheet"),
    "other elements": (lambda: {PEOPLE: sheet(b"<x/>" * 10**6)}, "formats and other parts"),
    "merged cells": (
        lambda: {PEOPLE: sheet(b"", after=b"<m>" + b'<mergeCell ref="A1:B1"/>' * 10**6 + b"</m>")},
        "formats and other parts"),
    "formats": (lambda: {STYLES: styles(b"<xf/>" * 10**6)}, "formats and other parts"),
    "texts": (lambda: {TEXTS: texts(b"<si/>" * 1_100_000)}, "texts"),
    "much text": (
        lambda: {TEXTS: texts((b"<si><t>" + b"x" * 10**6 + b"</t></si>") * 70)}, "more text"),
    "one long text": (lambda: {PEOPLE: sheet(inline(b"x" * 3 * 10**7))}, "text in one row"),
    "depth": (lambda: {PEOPLE: sheet(b"<a>" * 10**5 + b"</a>" * 10**5)}, "other parts"),
    "sheets": (lambda: {BOOK: b"<w><sheets>" + b'<sheet name="a"/>' * 10**4 + b"</sheets></w>"},
               "sheets"),
    "a figure of many digits": (
        lambda: {PEOPLE: sheet(b"<row><c><v>" + b"9" * 10**5 + b"</v></c></row>")}, DAMAGED),
    "no XML": (lambda: {PEOPLE: b"\0" * 100}, DAMAGED),
    "an unknown way of writing": (
        lambda: {PEOPLE: b'<?xml version="1.0" encoding="none"?><a/>'}, DAMAGED),
}  # fmt: skip


ALWAYS = ("laughs", "laughs in UTF-16", "a file", "columns", "a far row")


def packed(path: Path, parts: dict[str, bytes]) -> None:
    """Pack parts tightly."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)


@pytest.mark.parametrize("name", mostly_long(TRICKS, *ALWAYS))
def test_what_no_spreadsheet_writes_is_refused(shop: Path, name: str) -> None:
    make, words = TRICKS[name]
    packed(shop / "job.xlsx", good.workbook() | make())
    assert words in refused("recondition import job.xlsx --check")


@pytest.mark.parametrize("change", [same_part_twice, outside_what_is_looked_at])
def test_sheets_that_lie_elsewhere(shop: Path, change: Callable[[dict[str, bytes]], None]) -> None:
    parts = dict(good.workbook())
    change(parts)
    packed(shop / "job.xlsx", parts)
    assert DAMAGED in refused("recondition import job.xlsx")


def test_a_cell_in_the_last_place_of_a_sheet_is_no_harm(shop: Path) -> None:
    last = b'<row r="9000"><c r="XFD9000"><v>1</v></c></row>'
    part = good.workbook()[PEOPLE].replace(b"</sheetData>", last + b"</sheetData>")
    packed(shop / "job.xlsx", good.workbook() | {PEOPLE: part})
    assert ran("recondition import job.xlsx --check").status == 0


@pytest.mark.long
def test_very_wide_rows(shop: Path) -> None:
    wide = b'<row><c r="XFD1"><v>1</v></c></row>' * 2000
    part = good.workbook()[PEOPLE].replace(b"</sheetData>", wide + b"</sheetData>")
    packed(shop / "job.xlsx", good.workbook() | {PEOPLE: part})
    assert "more than 20,000,000 cells" in refused("recondition import job.xlsx")


@pytest.mark.long
def test_an_archive_of_very_many_parts(shop: Path) -> None:
    many = {f"{number}.xml": b"" for number in range(6000)}
    packed(shop / "job.xlsx", good.workbook() | many)
    assert "very many parts" in refused("recondition import job.xlsx")


@pytest.mark.long
def test_a_list_of_parts_that_fills_the_memory(shop: Path) -> None:
    """Two million members are listed, each 46 bytes; one record at the end says so."""
    one = b"PK\x01\x02" + bytes(42)
    count = 2 * 10**6
    end = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, count & 0xFFFF, count & 0xFFFF,
                      count * len(one), 0, 0)  # fmt: skip
    (shop / "job.xlsx").write_bytes(one * count + end)
    for line in ("import job.xlsx", "check --against job.xlsx", "history verify job.xlsx"):
        refused(f"recondition {line}")


def test_ten_gigabytes_that_are_said_and_ten_that_are_there(shop: Path) -> None:
    parts = dict(good.workbook())
    packed(shop / "job.xlsx", parts)
    content = bytearray((shop / "job.xlsx").read_bytes())
    at = content.index(b"PK\x01\x02", content.index(b"PK\x01\x02") + 4)
    content[at + 24 : at + 28] = struct.pack("<L", 0xFFFFFFF0)
    (shop / "job.xlsx").write_bytes(content)
    assert "unpacks to more than 500 MB" in refused("recondition import job.xlsx")


@pytest.mark.long
def test_a_bomb_that_says_it_is_small(shop: Path) -> None:
    """The member says 1,000 bytes and holds 300 MB: no more than it says is unpacked."""
    packed(shop / "job.xlsx", good.workbook() | {PEOPLE: bytes(300 * 10**6)})
    content = (shop / "job.xlsx").read_bytes()
    said = struct.pack("<L", 300 * 10**6)
    assert content.count(said) == 2
    (shop / "job.xlsx").write_bytes(content.replace(said, struct.pack("<L", 1000)))
    assert DAMAGED in refused("recondition import job.xlsx")


def test_parts_that_overlap(shop: Path) -> None:
    """A hundred members are one and the same stretch of the file, of 10 MB each."""
    packed(shop / "job.xlsx", good.workbook() | {"a.xml": b" " * 10 * 10**6})
    content = (shop / "job.xlsx").read_bytes()
    start = content.rindex(b"PK\x01\x02")
    end = content.index(b"PK\x05\x06", start)
    again = b"".join(content[start:end].replace(b"a.xml", b"%05d" % n) for n in range(100))
    tail = bytearray(content[end:])
    count = struct.unpack_from("<H", tail, 8)[0] + 100
    size = struct.unpack_from("<L", tail, 12)[0] + len(again)
    struct.pack_into("<2HL", tail, 8, count, count, size)
    (shop / "job.xlsx").write_bytes(content[:end] + again + tail)
    assert "unpacks to more than 500 MB" in refused("recondition import job.xlsx")


@pytest.mark.long
def test_a_million_formulas_that_follow_one_another(shop: Path) -> None:
    """Shared formulas are never written out: that took hours for each thousand of them."""
    long = b"A1+" * 2000 + b"A1"
    first = b'<row><c><f t="shared" ref="A1:A9" si="0">' + long + b"</f><v>1</v></c></row>"
    rows = first + b'<row><c><f t="shared" si="0"/><v>1</v></c></row>' * 50_000
    packed(shop / "job.xlsx", good.workbook() | {PEOPLE: sheet(rows)})
    assert "people" in refused("recondition import job.xlsx --check")
