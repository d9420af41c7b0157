"""Stock that does not follow from its movements is found, though the chain itself is whole."""

from __future__ import annotations

import uuid
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import text

from recondition.book import reading
from recondition.book.check import check
from recondition.book.posting import Poster
from recondition.fields import Id
from recondition.ledger.drafts import Draft
from recondition.ledger.lines import Consumable
from recondition.materials.stock import Flow, Layer, Movement
from tests.book.make import ACTING, DAY, FilledBook, one, usd

if TYPE_CHECKING:
    from recondition.book.engine import Book


def last(book: Book) -> Movement:
    with book.reading() as conn:
        found: Movement = reading.stored(conn, "movement")[-1].entry
    return found


def forge(book: Book, move: Movement) -> None:
    """Chain a movement as posting would, with numbers that posting would never work out."""
    made = Draft(id=uuid.uuid4().hex, kind="movement", ref=uuid.uuid4().hex, entry=move)
    with book.writing() as conn:
        Poster(book, conn, ACTING).post(made)


def said(book: Book) -> set[str]:
    return {damage.what for damage in check(book).damages}


@pytest.mark.parametrize(
    ("slip", "found"),
    [
        ({"on_hand": Decimal(5000)}, "stock does not follow from the movement before"),
        ({"value": usd("0.01")}, "stock does not follow from the movement before"),
        ({"price_difference": usd("1")}, "stock does not follow from the movement before"),
        (
            {"quantity": Decimal(-9000), "on_hand": Decimal(-8140)},
            "there is less than nothing in stock",
        ),
        (
            {"layers": (Layer(receipt=Id("r"), received_on=DAY, quantity=Decimal(1),
                              value=usd("1")),)},
            "the layers do not add up to what is in stock",
        ),
    ],
)  # fmt: skip
def test_a_movement_that_does_not_follow_is_found(
    whole: FilledBook, slip: dict[str, Any], found: str
) -> None:
    move = last(whole.book)
    nothing = {"flow": Flow.RECEIVED, "quantity": Decimal(0), "cost": usd("0")}
    forge(whole.book, replace(move, **(nothing | {"price_difference": usd("0")} | slip)))
    assert found in said(whole.book)


def test_a_movement_that_follows_is_no_damage(whole: FilledBook) -> None:
    nothing = {"flow": Flow.RECEIVED, "quantity": Decimal(0), "cost": usd("0")}
    source = whole.ids["RC-1"]
    forge(
        whole.book, replace(last(whole.book), source=source, price_difference=usd("0"), **nothing)
    )
    assert check(whole.book).damages == []


def test_a_line_whose_movement_says_another_cost_is_found(whole: FilledBook) -> None:
    book = whole.book
    source = one(book, "consumable", "L-3").id  # priced by itself, it moved no stock
    nothing = {"flow": Flow.ISSUED, "quantity": Decimal(0), "cost": usd("0")}
    move = replace(last(book), source=Id(source), price_difference=usd("0"), **nothing)
    forge(book, move)
    assert "a line does not cost what left stock for it" in said(book)


def test_a_line_from_stock_without_its_movement_is_found(whole: FilledBook) -> None:
    book = whole.book
    assert isinstance(one(book, "consumable", "L-6").entry, Consumable)
    with book.writing() as conn:
        on = "" if conn.dialect.name == "sqlite" else "ON movement"
        conn.execute(text(f"DROP TRIGGER posted_movement_delete {on}"))
        conn.execute(
            text("DELETE FROM movement WHERE source = :source"), {"source": whole.ids["L-6"]}
        )
    assert "a line from stock moved no stock" in said(book)
