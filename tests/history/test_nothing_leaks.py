"""A marker in every private field of every record: none may reach any output.

The fields are found by walking the entry classes against the allow-list, so a field that
somebody adds later is planted too. Public texts are marked as well, and must all appear.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

import pytest

from recondition.amounts import Money, Quantity
from recondition.fields import Id, Words
from recondition.history.public import PUBLIC
from recondition.history.saying import Saying
from recondition.history.sheet import Issue, Sheet, build
from recondition.history.source import Source
from recondition.ledger.codec import hints
from recondition.ledger.documents import Document, Visibility
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Link, Part, PartState
from recondition.ledger.pricing import Priced, Share
from tests.history.invented import EARLIER, source
from tests.history.invented_seen import issued
from tests.history.reading import (
    html_of,
    json_of,
    page_text,
    pdf_insides,
    pdf_of,
    pdf_text,
    squeezed,
)
from tests.history.storing import MADE_ON

HIDDEN = "Hiddenmark"
OPEN = "Openmark"
MONEY = "90917"
AMOUNT = "80817"
CURRENCY = "BHD"
CLOCK = "23:58:57"
# Public whatever its type, but of a fixed list or a date: nothing to plant in it.
SPOILED_PUBLIC = ("work_date", "words", "panel", "operation", "part_state")
# Texts that mean something to the program, so that a marker cannot stand in them.
OF_A_LIST = {"unit", "answer", "taken_at"}
# Work that was taken back late, and why: a correction shows this much of it.
TAKEN_BACK = {"l-12": ("work_date", "words", "panel"), "l-13": ("words",)}


class Planter:
    """Plants markers, each with a number of its own, and remembers them."""

    def __init__(self) -> None:
        """Start with none planted."""
        self.number = count(1)
        self.open: list[str] = []
        self.dates: list[date] = []
        self.fields: set[tuple[str, str]] = set()

    def id(self, old: str) -> Id:
        """Mark an id in a way that still joins records."""
        return Id(f"{HIDDEN}id{old}")

    def money(self) -> Money:
        """Give an amount that nothing public has."""
        return Money(int(f"{MONEY}{next(self.number):03}"), CURRENCY)

    def secret(self, hint: Any, old: Any, name: str) -> Any:
        """Give a marker of the type a private field wants; fixed lists keep their value."""
        plant = {
            Id: lambda: self.id(old or name),
            str: lambda: f"{HIDDEN}{name}{next(self.number)}",
            Words: lambda: f"{HIDDEN}{name}{next(self.number)}",
            Money: self.money,
            Quantity: lambda: self.quantity(old.unit if old else "h"),
            date: self.day,
            tuple[Link, ...]: lambda: tuple(Link(self.id(k.finding), k.weight) for k in old),
            tuple[Id, ...]: lambda: (self.id(f"{name}{next(self.number)}"),),
        }
        return plant[hint]() if hint in plant and name not in OF_A_LIST else old

    def quantity(self, unit: str) -> Quantity:
        """Give a quantity that nothing public has."""
        return Quantity(Decimal(f"{AMOUNT}.{next(self.number):03}1"), unit)

    def day(self) -> date:
        """Give a date that nothing public has."""
        self.dates.append(date(1931, 2, 3) + timedelta(days=next(self.number)))
        return self.dates[-1]

    def public(self, hint: Any, old: Any, name: str) -> Any:
        """Give a marker that must appear, of letters and figures, for text; else as it was."""
        if hint not in (str, Words) or name in OF_A_LIST:
            return old
        self.open.append(f"{OPEN}{name.replace('_', '')}{next(self.number)}x")
        return self.open[-1]

    def entry(self, kind: str, entry: Any, shown: tuple[str, ...]) -> Any:
        """Plant a marker in every field of an entry."""
        known = hints(type(entry))
        values = {}
        for field in dataclasses.fields(entry):
            plant = self.public if field.name in shown else self.secret
            old = getattr(entry, field.name)
            if field.name == "panel" and old is None and "operation" not in shown:
                # A panel would make a line about the vehicle, which this one is not.
                plant = _kept
            values[field.name] = plant(known[field.name], old, field.name)
            if plant == self.secret and values[field.name] != old:
                self.fields.add((kind, field.name))
        return type(entry)(**values)

    def stored(self, kept: Stored[Any]) -> Stored[Any]:
        """Plant markers in a record and in what the book puts around it."""
        gone = kept.reverses or kept.reversed_by or _off_the_sheet(kept)
        shown = () if gone else PUBLIC.get(kept.kind, ())
        shown = TAKEN_BACK.get(kept.id, shown)
        if isinstance(kept.entry, Part) and kept.entry.part_state is PartState.SPOILED:
            shown = SPOILED_PUBLIC
        share = Share(self.id("f-bonnet"), Decimal(1), self.money(), self.money())
        return dataclasses.replace(
            kept,
            id=self.id(kept.id),
            record=f"{HIDDEN}record",
            ref=f"{HIDDEN}ref",
            subject=f"{HIDDEN}subject",
            author=f"{HIDDEN}author",
            recorded_at=f"{kept.recorded_at[:10]}T{CLOCK}+07:00",
            entry=self.entry(kept.kind, kept.entry, shown),
            priced=Priced(self.money(), self.money(), self.money(), (share,)),
            reverses=kept.reverses and self.id(kept.reverses),
            reversed_by=kept.reversed_by and self.id(kept.reversed_by),
        )


def _kept(_hint: Any, old: Any, _name: str) -> Any:
    """Plant nothing."""
    return old


def _off_the_sheet(kept: Stored[Any]) -> bool:
    """Tell what never shows: charges, the cost of selling, tests not made, private files."""
    entry = kept.entry
    if isinstance(entry, Document):
        return entry.visibility is Visibility.EVIDENCE
    not_made = getattr(entry, "answer", None) == "not done"
    return kept.kind == "charge" or getattr(entry, "purpose", None) == "selling" or not_made


MANY = ("panels", "findings", "outcomes", "lines", "readings", "documents", "editions")
BY_ID = ("products", "instruments", "receipts", "people", "suppliers", "withdrawn")


def _planted() -> tuple[Planter, Source]:
    """Plant markers throughout the records of the invented vehicle."""
    planter, whole = Planter(), source(**EARLIER)
    made: dict[str, Any] = {
        name: tuple(planter.stored(one) for one in getattr(whole, name)) for name in MANY
    }
    for name in BY_ID:
        known = getattr(whole, name)
        made[name] = {planter.id(key): planter.stored(one) for key, one in known.items()}
    made["versions"] = {
        planter.id(key): tuple(planter.stored(one) for one in versions)
        for key, versions in whole.versions.items()
    }
    made["sealed"] = {planter.id(key): sealed for key, sealed in whole.sealed.items()}
    return planter, dataclasses.replace(whole, vehicle=planter.stored(whole.vehicle), **made)


PLANTER, PLANTED = _planted()
SHEET = build(PLANTED, Issue(3, MADE_ON), issued(PLANTED.documents))


def _pdf_all(made: Sheet) -> str:
    """Give the text of a PDF and everything else that is in it."""
    pdf = pdf_of(made)
    return pdf_text(pdf) + pdf_insides(pdf)


WRITTEN: dict[str, Callable[[Sheet], str]] = {"html": html_of, "pdf": _pdf_all, "json": json_of}
SEEN: dict[str, Callable[[Sheet], str]] = {
    "html": lambda made: page_text(html_of(made)),
    "pdf": lambda made: pdf_text(pdf_of(made)),
    "json": json_of,
}


@pytest.mark.parametrize("medium", WRITTEN)
def test_no_private_text_is_anywhere_in_an_output(medium: str) -> None:
    written = squeezed(WRITTEN[medium](SHEET))
    assert OPEN in written
    assert re.findall(f"{HIDDEN}[A-Za-z-]*", written) == []


@pytest.mark.parametrize("medium", SEEN)
def test_no_private_number_or_date_is_in_an_output(medium: str) -> None:
    seen = SEEN[medium](SHEET)
    bare = re.sub(r"[\s.,'\u200b\u00a0\u202f]", "", seen)
    assert MONEY not in bare
    assert AMOUNT not in bare
    assert CURRENCY not in seen
    assert CLOCK not in seen
    dates = [form for when in PLANTER.dates for form in (when.isoformat(), Saying().day(when))]
    assert dates
    assert [form for form in dates if squeezed(form) in squeezed(seen)] == []


@pytest.mark.parametrize("medium", SEEN)
def test_every_public_text_does_appear(medium: str) -> None:
    seen = squeezed(SEEN[medium](SHEET))
    assert len(PLANTER.open) > 80
    assert [mark for mark in PLANTER.open if mark not in seen] == []


def test_what_is_listed_of_a_correction_is_shown_before_and_after() -> None:
    (row,) = [row for row in SHEET.corrections if row.kind == "finding"]
    texts = {change.field for change in row.changes if isinstance(change.after, str)}
    assert {"words", "spot", "defect", "lamp", "material"} & texts


def test_the_markers_reached_the_fields_that_matter() -> None:
    kinds = {"vehicle", "finding", "outcome", "labour", "part", "consumable", "sublet", "charge"}
    assert kinds <= {kind for kind, _ in PLANTER.fields}
    for expected in (
        ("vehicle", "owner"),
        ("vehicle", "private_note"),
        ("labour", "quantity"),
        ("labour", "person"),
        ("part", "price"),
        ("part", "invoice_number"),
        ("part", "tax_point"),
        ("consumable", "price_per"),
        ("sublet", "supplier"),
        ("charge", "words"),
        ("reversal", "why"),
        ("product", "name"),
        ("outcome", "decided_by"),
    ):
        assert expected in PLANTER.fields
