"""Named tricks with a folder of .csv files: bounded time and memory, and a clear no."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.hostile.cases import mostly_long
from tests.hostile.confined import ran, refused

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

HEADS = b"initials,name,role\r\n"
BLOCK = 10**6
TRICKS: dict[str, tuple[Iterable[bytes], str]] = {
    "a million columns": ([HEADS, b"," * BLOCK, b"\r\n"], "more than 16,384 columns"),
    "columns in the headings": ([b"," * BLOCK, b"\r\n", HEADS], "more than 16,384 columns"),
    "columns over many lines": ([HEADS, *[b'"\r\n",' * 10**5] * 50], "characters"),
    "one line of 300 MB": ([HEADS, *[b"x" * BLOCK] * 300], "more than 4,000,000 characters"),
    "300 MB before any heading": ([b"x" * BLOCK] * 300, "more than 4,000,000 characters"),
    "300 MB of delimiters": ([HEADS, *[b"," * BLOCK] * 300], "more than 4,000,000 characters"),
    "a quote that never ends": ([HEADS, b'"', *[b"x\r\n" * BLOCK] * 30], "cannot be read as .csv"),
    "NULs": ([HEADS, b"HK\0,Hanna\0,preparer\r\n"], "control character U+0000"),
    "300 MB of NULs": ([b"\0" * BLOCK] * 300, "more than 4,000,000 characters"),
    "UTF-16": ([HEADS.decode().encode("utf-16")], "not UTF-8 text"),
    "half signs": ([HEADS, b"HK,\xed\xa0\x80,preparer\r\n"], "not UTF-8 text"),
    "line ends of every kind": (
        [HEADS, b"HK,Hanna,x\rXX,,\n\r\nYY,Y,\n"],
        "row 3, name",
    ),
}
ALWAYS = ("a million columns", "NULs", "half signs")


@pytest.mark.parametrize("name", mostly_long(TRICKS, *ALWAYS))
def test_what_is_no_table_is_refused(shop: Path, name: str) -> None:
    parts, words = TRICKS[name]
    (shop / "job").mkdir()
    with (shop / "job" / "people.csv").open("wb") as file:
        file.writelines(parts)
    said = refused("recondition import job --check")
    assert words in said
    assert len(said) < 50_000


def test_a_row_as_long_as_rows_may_be_is_read(shop: Path) -> None:
    (shop / "job").mkdir()
    wide = HEADS.strip() + b"," * 16_000 + b"\r\nHK,Hanna Kest,preparer" + b"," * 16_000 + b"\r\n"
    (shop / "job" / "people.csv").write_bytes(wide)
    assert ran("recondition import job --check").status == 0
