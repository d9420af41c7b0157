"""A marker in every private field and column there is: none reaches what a buyer gets.

The fields come from the kinds of record and the types of their entries, the columns from the
tables of the schema, so that a new one is looked for without a word here; what no marker can
stand in is listed with its reason, and held to be so. The outputs are those of a real release,
opened by the program's own reader and, apart from that, by plain means here.
"""

from __future__ import annotations

import base64
import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import inspect, select

from recondition.book import reading
from recondition.book.check import check
from recondition.book.engine import Book
from recondition.book.keys import no_passphrase
from recondition.book.kinds import KINDS
from recondition.book.tables import METADATA, free_text, record
from recondition.history.public import PUBLIC
from recondition.history.saying import Saying
from recondition.ledger.codec import word_fields
from recondition.reports.history_files import zip_of
from recondition.reports.history_release import Made, Wanted, release
from recondition.reports.reopened import reopened
from tests.history.planted_book import OWN, THEIRS, fill
from tests.history.planting import (
    CLOCK,
    FIGURE,
    HIDDEN,
    MONEY,
    SHORT,
    Planter,
    is_marked,
    is_public,
    leaves,
    nothing_to_plant,
)
from tests.history.reading import pdf_insides, pdf_text
from tests.places import copied_book, opened

if TYPE_CHECKING:
    from pathlib import Path

    from sqlalchemy import Column, Table

pytestmark = pytest.mark.long

MADE_ON = date(2031, 6, 1)

# What no marker can be planted in, and why the book refuses it.
NOT_TO_BE_PLANTED = {
    ("tax code", ("charged_on",)): "kinds of line: a fixed list, written as texts",
}
# Kinds that nobody enters: the program works them out from others.
WORKED_OUT = {"movement"}

# Columns in which no value tells anything by itself, and why.
TELLING_NOTHING = {
    "record.sequence": "1, 2, 3",
    "record.version": "1, 2, 3",
    "record.format": "of the canonical text",
    "record.kind": "a fixed list",
    "chain_head.count": "1, 2, 3",
    "entity.kind": "a fixed list",
    "free_text.field": "names of fields",
    "relation.field": "names of fields",
    "relation.position": "0, 1, 2",
    "stored_file.size_bytes": "of a file that is handed out, and else a small number",
    "stored_file.media_type": "a fixed list",
    "line.kind": "a fixed list",
    "movement.flow": "a fixed list",
    "login.role": "a fixed list",
    "tax_code.charged_on": "a fixed list",
    "owner_invoice.tax_minor": "worked out from a planted total; no tax was charged here",
    "sale.scheme_price_minor": "worked out from a planted price; under a margin scheme only",
    "sale.margin_minor": "worked out from a planted price; under a margin scheme only",
}
TELLING_FIGURES = 7


@dataclass(frozen=True)
class Released:
    """The planted book, what was planted, what stood in its columns, and what was made of it.

    ``values`` are the private values of each column before anything was released. ``texts`` gives
    all that can be read in each output of a vehicle, and the same without what parts figures.
    """

    book: Book
    planter: Planter
    values: dict[str, set[Any]]
    made: dict[str, Made]
    texts: dict[str, dict[str, tuple[str, str]]]


def _moment() -> datetime:
    """Give the time at which everything is recorded."""
    return datetime.combine(date(2031, 5, 1), time.fromisoformat(CLOCK), UTC)


@pytest.fixture(scope="module")
def released(empty_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Released]:
    folder = tmp_path_factory.mktemp("planted")
    book = opened(copied_book(empty_file, folder / "book.sqlite"), now=_moment)
    planter = Planter()
    fill(book, folder, planter)
    values = {
        f"{table.name}.{column.name}": _private_values(book, table, column)
        for table in METADATA.sorted_tables
        for column in table.columns
    }
    made = {
        stock: release(
            book, Wanted(vehicle=stock, made_on=MADE_ON, author="HK", locale="en_GB"), no_passphrase
        )
        for stock in (OWN, THEIRS)
    }
    texts = {stock: _texts(each) for stock, each in made.items()}
    yield Released(book, planter, values, made, texts)
    book.close()


def _files(made: Made) -> dict[str, bytes]:
    """Give every output by its name, and the zip with all of them."""
    return {file.path: file.content for file in made.files} | {"all.zip": zip_of(made.files)}


def _insides(content: bytes) -> Iterator[bytes]:
    """Give the bytes of an output and what is packed in it, by plain means."""
    yield content
    if content.startswith(b"PK"):
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            for name in archive.namelist():
                yield from _insides(archive.read(name))
    for packed in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", content, re.DOTALL):
        try:
            yield zlib.decompressobj().decompress(packed)
        except zlib.error:
            yield packed
    for address in re.findall(rb"data:[a-z/+]+;base64,([A-Za-z0-9+/=]+)", content):
        yield base64.b64decode(address)


def _texts(made: Made) -> dict[str, tuple[str, str]]:
    """Give all that can be read of each output by both readings, as it is and bare."""
    files = _files(made)
    known, metadata = reopened(files)
    assert metadata == []
    found = {}
    for name, content in files.items():
        plain = "\n".join(each.decode("utf-8", "replace") for each in _insides(content))
        pdf = pdf_text(content) + pdf_insides(content) if name.endswith(".pdf") else ""
        text = "\n".join([*known[name], plain, pdf])
        found[name] = (text, _bare(text))
    return found


def _bare(text: str) -> str:
    """Take out what stands between figures and between words."""
    return re.sub(r"[\s.,'\u200b\u00a0\u202f\u2009]", "", text)


def test_every_private_field_of_every_kind_is_planted(released: Released) -> None:
    wanted = {
        (kind, path)
        for kind in set(KINDS) - WORKED_OUT
        for path, hint in leaves(KINDS[kind].entry)
        if not is_public(kind, path) and not nothing_to_plant(path, hint)
    }
    planted = released.planter.planted
    assert wanted - planted == set(NOT_TO_BE_PLANTED), {
        field: released.planter.refused.get(field) for field in wanted - planted
    }
    assert planted <= wanted
    assert len(planted) > 400


def test_the_book_is_whole_and_holds_every_kind(released: Released) -> None:
    """Markers stand in the place of a closed month's journal and of an export's list of lines."""
    told = [each.what for each in check(released.book).damages]
    assert [what for what in told if "journal" not in what and "the exports" not in what] == []
    with released.book.reading() as conn:
        found = reading.stored(conn, *KINDS)
    assert {each.kind for each in found} == set(KINDS)


def test_every_free_text_of_every_kind_is_planted(released: Released) -> None:
    query = select(record.c.kind, free_text.c.field, free_text.c.content).join(
        record, record.c.id == free_text.c.record_id
    )
    with released.book.reading() as conn:
        rows = conn.execute(query).all()
    marked = {(row.kind, row.field) for row in rows if is_marked(row.content)}
    private = {
        (kind, field)
        for kind in set(KINDS) - WORKED_OUT
        for field in word_fields(KINDS[kind].entry)
        if field not in PUBLIC.get(kind, ())
    }
    assert private - marked == set()


def _columns(kind: str) -> dict[str, tuple[tuple[str, ...], Any]]:
    """Give the columns that the fields of a kind stand in."""
    return {"_".join(path): (path, hint) for path, hint in leaves(KINDS[kind].entry)}


def _field(kind: str, column: str) -> tuple[tuple[str, ...], Any] | None:
    """Give the field that a column of a kind holds; None for what was worked out beside it."""
    known = _columns(kind)
    for tail in ("", "_minor", "_number", "_unit", "_currency"):
        name = column.removesuffix(tail)
        if name in known and (not tail or column.endswith(tail)):
            return known[name]
    return next((each for name, each in known.items() if name.startswith(f"{column}_")), None)


def _private_values(book: Book, table: Table, column: Column[Any]) -> set[Any]:
    """Read what stands in a column, without the rows of kinds in which it is public."""
    own = table.c.get("record_id")
    with book.reading() as conn:
        if own is None:
            return set(conn.execute(select(column)).scalars())
        query = select(record.c.kind, column).join(record, record.c.id == own)
        rows = conn.execute(query).all()
    return {value for kind, value in rows if not _is_public(kind, table.name, column.name)}


def _is_public(kind: str, table: str, column: str) -> bool:
    """Tell whether a column of a kind holds what a buyer may see."""
    field = _field(kind, column) if KINDS[kind].table == table else None
    return field is not None and is_public(kind, field[0])


def _no_choice(table: str, column: str) -> bool:
    """Tell whether the types of all kinds in a table leave a column no marker."""
    kinds = [name for name, kind in KINDS.items() if kind.table == table]
    fields = [field for kind in kinds if (field := _field(kind, column))]
    listed = column.endswith(("_unit", "_currency")) or column == "unit"
    return bool(fields) and (listed or all(nothing_to_plant(*field) for field in fields))


def _telling(value: Any) -> bool:
    """Tell whether a value is one that nothing public would hold by chance."""
    text = value.hex() if isinstance(value, bytes) else str(value)
    ids = re.fullmatch(r"(?:vehicle:|product:)?[0-9a-f]{32,}", text) is not None
    figures = isinstance(value, int) and len(str(abs(value))) >= TELLING_FIGURES
    return is_marked(text) or ids or figures or bool(re.match(r"(?:18|19|21)\d\d-\d\d", text))


def test_the_tables_of_the_book_are_those_that_are_walked(released: Released) -> None:
    found = set(inspect(released.book.engine).get_table_names())
    assert found - {"alembic_version"} == set(METADATA.tables)


def test_every_private_column_of_the_schema_holds_a_marker(released: Released) -> None:
    missing, useless = [], []
    for table in METADATA.sorted_tables:
        for column in table.columns:
            name = f"{table.name}.{column.name}"
            if _all_public(table.name, column.name) or _no_choice(table.name, column.name):
                continue
            told = any(map(_telling, released.values[name]))
            if not told and name not in TELLING_NOTHING:
                missing.append(name)
            if told and name in TELLING_NOTHING:
                useless.append(name)
    assert missing == [], missing
    assert useless == [], useless


def _all_public(table: str, column: str) -> bool:
    """Tell whether a column is public in every kind that its table holds."""
    kinds = [name for name, kind in KINDS.items() if kind.table == table]
    return bool(kinds) and all(_is_public(kind, table, column) for kind in kinds)


@pytest.mark.parametrize("stock", [OWN, THEIRS])
def test_no_marker_is_in_any_output(released: Released, stock: str) -> None:
    days = [
        form
        for day in released.planter.days
        for form in (day.isoformat(), _bare(Saying("en_GB").day(day)))
    ]
    for name, (text, bare) in released.texts[stock].items():
        assert re.findall(f"(?:{HIDDEN}|{SHORT})[a-z0-9]{{0,30}}", bare) == [], name
        assert [mark for mark in (MONEY, FIGURE) if mark in bare] == [], name
        assert CLOCK not in text, name
        assert [form for form in days if form in bare] == [], name


@pytest.mark.parametrize("stock", [OWN, THEIRS])
def test_no_private_value_of_any_column_is_in_an_output(released: Released, stock: str) -> None:
    known = _printed(released, stock)
    sought = {
        value.hex() if isinstance(value, bytes) else str(value): column
        for column, values in released.values.items()
        for value in values
        if _telling(value)
    }
    assert len(sought) > 1000
    forms = {_bare(value): column for value, column in sought.items() if value not in known}
    for name, (_, bare) in released.texts[stock].items():
        assert {column for form, column in forms.items() if form in bare} == set(), name


def _printed(released: Released, stock: str) -> set[str]:
    """Give what stands in a column and is printed on purpose, for what it proves.

    That is the head of the chain that the sheet was made from, and the hash of a text that is
    handed out as it is.
    """
    made = released.made[stock]
    about = next(each["record"] for each in made.proof["records"])["data"]
    handed_out = {each["sha256"] for each in made.proof["files"]}
    return {str(about["anchor"]["hash"]), str(made.proof["head"]["supersedes"]), *handed_out}


def test_the_program_names_what_it_would_have_found(released: Released) -> None:
    """Hold the search itself: a marker that is put into an output is found by these means."""
    made = released.made[OWN]
    (page,) = [file for file in made.files if file.path.endswith(".html")]
    hidden = base64.b64encode(f"{HIDDEN} in a picture".encode()).decode()
    spoiled = page.content.replace(b"</main>", f"data:image/png;base64,{hidden}</main>".encode())
    assert any(HIDDEN.encode() in each for each in _insides(spoiled))
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.txt", f"{HIDDEN} in a zip")
    assert any(HIDDEN.encode() in each for each in _insides(packed.getvalue()))
    stream = zlib.compress(f"{HIDDEN} in a PDF".encode())
    pdf = b"%PDF-1.7\nstream\n" + stream + b"\nendstream"
    assert any(HIDDEN.encode() in each for each in _insides(pdf))
