"""Stock inside a real book: what is on hand, what lines cost, and what is refused."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest

from recondition.amounts import Quantity
from recondition.book import reading
from recondition.book.admission_stock import (
    FreightStands,
    ReceiptOfAnotherProduct,
    StockUnitFixed,
)
from recondition.book.engine import open_book
from recondition.book.errors import BookInUse
from recondition.book.measured import OtherProduct
from recondition.book.posting import Poster
from recondition.book.settings import StockValueFixed
from recondition.book.shelf import on_hand_of
from recondition.fields import Id, Words
from recondition.ledger.days import BeforeItsCause
from recondition.ledger.lines import Consumable, Count, Purpose, Reversal, Unlinked, Use
from recondition.ledger.people import Setting
from recondition.ledger.rules import PriceBesideStock
from recondition.materials.balance import balance
from recondition.materials.conversion import OtherUnit
from recondition.materials.measuring import Measure, MoreThanMixed, Way
from recondition.materials.products import Product
from recondition.materials.receiving import (
    Container,
    LateFreight,
    MixedBatch,
    StandardAmount,
    StockReversal,
    SupplierReturn,
)
from recondition.materials.stock import Movement
from recondition.materials.valuation import NotInStock
from tests.book.make import (
    ACTING,
    DAY,
    Shop,
    add,
    draft,
    line,
    links,
    one,
    post,
    refused,
    shop,
    usd,
)
from tests.book.make_stock import ml, received, weighed
from tests.check_values import check_values

if TYPE_CHECKING:
    from recondition.book.engine import Book

DENSE = Product(
    name="Cut 3", material_type="compound", unit="ml", density_g_ml=Decimal("1.08"),
    container_size=ml("500"),
)  # fmt: skip


def moves(book: Book, product: Id) -> list[Movement]:
    with book.reading() as conn:
        found = reading.stored(conn, "movement")
    return [item.entry for item in found if item.entry.product == product]


def ties(book: Book, product: Id) -> tuple[Decimal, str]:
    """Hold the stock identity, and give what is on hand with its value."""
    found = moves(book, product)
    last, summed = found[-1], balance(found, "USD")
    assert (summed.on_hand, summed.value) == (last.on_hand, last.value)
    return last.on_hand, str(last.value)


def use(made: Shop, product: Id, amount: str | None = None, **more: Any) -> Consumable:
    fields = line(made.own, links=links(made.own_findings[0])) | more
    quantity = None if amount is None else ml(amount)
    return Consumable(product=product, quantity=quantity, **fields)


def stocked(book: Book, product: Product = DENSE, **more: Any) -> tuple[Shop, Id, Id]:
    """Start a shop with a litre of a product for 44.00; give the product and its receipt."""
    made = shop(book)
    found = add(book, "product", "PR-9", product)
    return made, found, add(book, "receipt", "RC-9", received(found, price="44.00", **more))


def test_a_receipt_is_worth_its_price_with_freight_and_lost_tax(book: Book) -> None:
    _, product, _ = stocked(book, freight=usd("3.10"), tax_not_recovered=usd("3.63"))
    assert ties(book, product) == (1000, "50.73")


@pytest.mark.parametrize("method", ["moving average", "first in first out"])
def test_the_published_perpetual_example_through_the_book(book: Book, method: str) -> None:
    """OpenStax, Principles of Accounting, Volume 1, 10.3 (perpetual); each issue to the cent."""
    made = shop(book)
    add(book, "setting", "stock value", Setting(value=method))
    pieces = Product(name="unit", material_type="goods", unit="piece")
    product = add(book, "product", "PR-9", pieces)
    events = [row for row in check_values("openstax_inventory_example")
              if row["record"] == "event" and row["unit_cost_or_price_usd"]]  # fmt: skip
    for place, row in enumerate(events):
        amount, ref = Quantity.of(row["units"], "piece"), f"E-{place}"
        if row["item"] == "sale":
            fields = line(made.own, links=links(made.own_findings[0]))
            add(book, "consumable", ref, Consumable(product=product, quantity=amount, **fields))
        else:
            price = usd(row["amount_usd"])
            add(book, "receipt", ref, replace(received(product), quantity=amount, price=price))
    with book.reading() as conn:
        costs = [item.priced.cost.minor for item in reading.lines(conn) if item.priced]
    wanted = {"moving average": ("8902.06", 725294), "first in first out": ("8955.00", 720000)}
    assert (ties(book, product), sum(costs)) == ((285, wanted[method][0]), wanted[method][1])


def test_a_weighed_use_costs_what_left_stock_and_keeps_its_readings(book: Book) -> None:
    made, product, _ = stocked(book)
    add(book, "consumable", "U-1", use(made, product, measure=weighed("742.6", "701.9")))
    priced = one(book, "consumable", "U-1").priced
    assert (priced.quantity, priced.cost) == (ml("37.7"), usd("1.66"))
    assert priced.measure.density_g_ml == Decimal("1.08")
    assert priced.measure.uncertainty == ml("0.13")
    assert ties(book, product) == (Decimal("962.3"), "42.34")


def test_every_other_way_to_measure(book: Book) -> None:
    made, product, receipt = stocked(book)
    bottle = add(book, "container", "K-1", Container(product=product, receipt=receipt))
    add(book, "standard amount", "N-1",
        StandardAmount(product=product, operation="wash", quantity=ml("30")))  # fmt: skip
    level = Measure(way=Way.LEVEL, level_before=Decimal("0.8"), level_after=Decimal("0.7"))
    pumped = Measure(way=Way.DISPENSED, strokes=Decimal(6), per_stroke=ml("4"))
    for ref, more, wanted in (
        ("U-1", {"measure": level, "container": bottle}, "50"),
        ("U-2", {"measure": pumped}, "24"),
        ("U-3", {"measure": Measure(way=Way.STANDARD), "operation": "wash"}, "30"),
        ("U-4", {"amount": "12"}, "12"),
        ("U-5", {"amount": "12", "use": Use.WASTED}, "12"),
    ):
        add(book, "consumable", ref, use(made, product, **more))
        assert one(book, "consumable", ref).priced.quantity == ml(wanted)
    assert ties(book, product)[0] == 872
    assert [move.flow.value for move in moves(book, product)][-2:] == ["issued", "wasted"]


def test_the_shares_of_a_mix_add_up_also_after_a_reversal(book: Book) -> None:
    made, product, _ = stocked(book)
    batch = MixedBatch(product=product, mixed_on=DAY, concentrate=ml("70"), water=ml("700"))
    mix = add(book, "mixed batch", "X-1", batch)

    def spray(ref: str, amount: str) -> Id:
        sprayed = Measure(way=Way.MIXED, sprayed=ml(amount))
        return add(book, "consumable", ref, use(made, product, mixed=mix, measure=sprayed))

    first = spray("U-1", "400")
    add(book, "reversal", "V-1", Reversal(vehicle=made.own, reverses=first, work_date=DAY,
                                          why=Words("wrong car")))  # fmt: skip
    spray("U-2", "300")
    spray("U-3", "470")
    assert ties(book, product)[0] == 930
    one_more = Measure(way=Way.MIXED, sprayed=ml("1"))
    refused(book, MoreThanMixed, "consumable", use(made, product, mixed=mix, measure=one_more))


def test_more_than_is_on_hand_is_refused_and_changes_nothing(book: Book) -> None:
    made, product, _ = stocked(book)
    said = refused(book, NotInStock, "consumable", use(made, product, "1000.1"), ref="U-1")
    assert "1000 ml on hand" in said.what
    assert ties(book, product) == (1000, "44.00")
    amounts = {"U-1": "2000", "U-2": "400", "U-3": "700", "U-4": "600"}
    drafts = [draft("consumable", ref, use(made, product, of)) for ref, of in amounts.items()]
    with book.writing() as conn:
        results = Poster(book, conn, ACTING).post_many(drafts)
    assert [each.status.value for each in results] == ["refused", "new", "refused", "new"]
    assert ties(book, product) == (0, "0.00")


def test_the_same_draft_again_moves_nothing(book: Book) -> None:
    made, product, _ = stocked(book)
    entry = use(made, product, measure=weighed("742.6", "701.9"))
    for _ in range(2):
        post(book, draft("consumable", "U-1", entry))
    assert len(moves(book, product)) == 2


def test_a_price_of_its_own_is_for_what_is_never_in_stock(book: Book) -> None:
    made, product, _ = stocked(book)
    priced = use(made, product, "10", price=usd("44"), price_per=ml("1000"))
    refused(book, PriceBesideStock, "consumable", priced)
    other = add(book, "product", "PR-8", replace(DENSE, name="Bought once"))
    refused(book, NotInStock, "consumable", use(made, other, "10"))
    add(book, "consumable", "U-2", replace(priced, product=other))
    assert one(book, "consumable", "U-2").priced.cost == usd("0.44")
    assert moves(book, other) == []


def test_a_late_receipt_changes_later_issues_only(book: Book) -> None:
    made = shop(book)
    add(book, "setting", "stock value", Setting(value="first in first out"))
    product = add(book, "product", "PR-9", DENSE)
    add(book, "receipt", "RC-1", received(product, "100", "10.00", received_on=date(2031, 3, 3)))
    add(book, "consumable", "U-1", use(made, product, "50"))
    add(book, "receipt", "RC-2", received(product, "100", "90.00", received_on=date(2031, 3, 1)))
    add(book, "consumable", "U-2", use(made, product, "100"))
    costs = [str(one(book, "consumable", ref).priced.cost) for ref in ("U-1", "U-2")]
    assert costs == ["5.00", "90.00"]
    assert ties(book, product) == (50, "5.00")


def test_late_freight_goes_on_what_is_there_and_the_rest_is_difference(book: Book) -> None:
    made, product, receipt = stocked(book)
    add(book, "consumable", "U-1", use(made, product, "250"))
    freight = LateFreight(product=product, receipt=receipt, billed_on=DAY, price=usd("10"),
                          words=Words("carriage"))  # fmt: skip
    late = add(book, "late freight", "LF-1", freight)
    assert ties(book, product) == (750, "40.50")
    assert moves(book, product)[-1].price_difference == usd("2.50")
    back = StockReversal(product=product, reverses=receipt, reversed_on=DAY, why=Words("wrong"))
    refused(book, FreightStands, "stock reversal", back)
    add(book, "stock reversal", "S-1", replace(back, reverses=late))
    assert ties(book, product) == (750, "33.00")
    refused(book, NotInStock, "stock reversal", back)


def test_what_goes_back_to_its_supplier_leaves_at_the_credit(book: Book) -> None:
    _, product, receipt = stocked(book)
    back = SupplierReturn(product=product, receipt=receipt, returned_on=DAY, quantity=ml("500"),
                          credit=usd("20"), words=Words("dented"))  # fmt: skip
    sent = add(book, "supplier return", "SR-1", back)
    assert (ties(book, product), moves(book, product)[-1].price_difference) == (
        (500, "22.00"), usd("2.00"),
    )  # fmt: skip
    add(book, "stock reversal", "S-1", StockReversal(
        product=product, reverses=sent, reversed_on=DAY, why=Words("kept after all")))  # fmt: skip
    assert ties(book, product) == (1000, "44.00")


def test_a_reversed_issue_gives_back_its_own_cost(book: Book) -> None:
    made, product, _ = stocked(book)
    issue = add(book, "consumable", "U-1", use(made, product, "500"))
    add(book, "receipt", "RC-2", received(product, price="88.00"))
    add(book, "reversal", "V-1", Reversal(vehicle=made.own, reverses=issue, work_date=DAY,
                                          why=Words("wrong car")))  # fmt: skip
    assert ties(book, product) == (2000, "132.00")
    assert one(book, "reversal", "V-1").priced.quantity == ml("-500")


def test_a_count_posts_one_line_and_its_reversal_puts_stock_back(book: Book) -> None:
    _, product, _ = stocked(book)
    shelf = line(None, unlinked=Unlinked.OVERHEAD) | {"purpose": Purpose.OVERHEAD}
    for ref, found, cost, left in (
        ("Q-1", "900", "4.40", (900, "39.60")),
        ("Q-2", "950", "-2.20", (950, "41.80")),
        ("Q-3", "950", "0.00", (950, "41.80")),
    ):
        counted = add(book, "count", ref, Count(product=product, counted=ml(found), **shelf))
        assert (str(one(book, "count", ref).priced.cost), ties(book, product)) == (cost, left)
        if ref == "Q-1":
            first = counted
    add(book, "reversal", "V-1", Reversal(reverses=first, work_date=DAY, why=Words("misread")))
    assert ties(book, product) == (1050, "46.20")


def test_the_way_stock_is_valued_is_fixed_with_the_first_receipt(book: Book) -> None:
    shop(book)
    add(book, "setting", "stock value", Setting(value="first in first out"))
    add(book, "setting", "stock value", Setting(value="moving average"))
    product = add(book, "product", "PR-9", DENSE)
    add(book, "receipt", "RC-1", received(product))
    other = Setting(value="first in first out")
    refused(book, StockValueFixed, "setting", other, ref="stock value")
    add(book, "setting", "stock value", Setting(value="moving average"))


def test_a_use_fits_its_batch_and_its_container(book: Book) -> None:
    made, product, receipt = stocked(book)
    other = add(book, "product", "PR-8", replace(DENSE, name="Other"))
    bottle = add(book, "container", "K-1", Container(product=product, receipt=receipt))
    refused(book, ReceiptOfAnotherProduct, "container", Container(product=other, receipt=receipt))
    refused(book, OtherProduct, "consumable", use(made, other, "5", container=bottle))
    refused(book, ReceiptOfAnotherProduct, "consumable", use(made, other, "5", receipt=receipt))
    early = use(made, product, "5", receipt=receipt, work_date=date(2031, 3, 3))
    refused(book, BeforeItsCause, "consumable", early)


def test_two_who_take_the_last_of_it_at_once(fresh: Any) -> None:
    """One of them gets it; the other is told what is on hand."""
    book = open_book(fresh("postgresql"))
    made, product, _ = stocked(book)
    both, told = threading.Barrier(2), list[str]()

    def take(ref: str) -> None:
        mine = open_book(book.location)
        both.wait(timeout=30)
        for _ in range(20):  # who is told that the book is in use tries again
            try:
                post(mine, draft("consumable", ref, use(made, product, "600")))
                told.append("posted")
                break
            except BookInUse:
                continue
            except NotInStock as refusal:
                told.append(refusal.what)
                break
        mine.close()

    threads = [threading.Thread(target=take, args=(ref,)) for ref in ("U-1", "U-2")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    assert sorted(words.partition(": ")[2][:6] for words in told) == ["", "600 ml"]
    with book.reading() as conn:
        assert on_hand_of(conn, product) == 400
    book.close()


def test_the_stock_unit_is_fixed_with_the_first_receipt(book: Book) -> None:
    _, product, _ = stocked(book)
    refused(book, StockUnitFixed, "product", replace(DENSE, unit="g"), ref="PR-9")
    add(book, "product", "PR-9", replace(DENSE, name="Cut no. 3", density_g_ml=Decimal("1.1")))
    other = add(book, "product", "PR-8", DENSE)
    add(book, "product", "PR-8", replace(DENSE, unit="g"))
    hours = replace(DENSE, container_size=Quantity.of(5, "h"))
    refused(book, OtherUnit, "product", hours, ref="PR-8")
    assert product != other


def test_no_more_is_mixed_than_there_is(book: Book) -> None:
    _, product, _ = stocked(book)
    batch = MixedBatch(product=product, mixed_on=DAY, concentrate=ml("1001"), water=ml("0"))
    refused(book, NotInStock, "mixed batch", batch)
    add(book, "mixed batch", "X-1", replace(batch, concentrate=ml("1000")))


def test_a_count_may_find_nothing(book: Book) -> None:
    _, product, _ = stocked(book)
    shelf = line(None, unlinked=Unlinked.OVERHEAD) | {"purpose": Purpose.OVERHEAD}
    add(book, "count", "Q-1", Count(product=product, counted=ml("0"), **shelf))
    assert ties(book, product) == (0, "0.00")


def test_a_reversed_receipt_takes_the_smaller_of_its_cost_and_the_value_there(book: Book) -> None:
    made, product, receipt = stocked(book)
    add(book, "receipt", "RC-2", received(product, price="8.00"))
    add(book, "consumable", "U-1", use(made, product, "900"))
    assert ties(book, product) == (1100, "28.60")
    back = StockReversal(product=product, reverses=receipt, reversed_on=DAY, why=Words("wrong"))
    add(book, "stock reversal", "S-1", back)
    assert ties(book, product) == (100, "0.00")
    assert moves(book, product)[-1].price_difference == usd("-15.40")
