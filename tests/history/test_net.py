"""What counts as private, and that none of it gets past the search, however it is written."""

from __future__ import annotations

import dataclasses
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from recondition.amounts import Money, Quantity
from recondition.condition.custody import CustodyItem, CustodyMove, ItemClass
from recondition.fields import Id, Words
from recondition.history.net import (
    Hit,
    LeakFound,
    Secret,
    Shown,
    Sort,
    code_of,
    search,
    secrets_of,
)
from recondition.history.net_forms import amount_keys
from recondition.history.public import PUBLIC
from recondition.ledger.booked import Booked
from recondition.ledger.codec import hints
from recondition.ledger.lines import Labour, Purpose, Standing, Sublet
from recondition.ledger.people import Person, Supplier
from recondition.ledger.pricing import Priced, Share
from recondition.materials.products import Product
from recondition.worth.estimates import Basis, ThreeAmounts
from recondition.worth.terms import SaleTerms
from recondition.worth.track import Decision
from tests.history.storing import stored
from tests.strategies import monies

KEY = b"k" * 32


def usd(text: str) -> Money:
    return Money.of(text, "USD")


def amounts(*found: Money) -> list[Secret]:
    """Make secrets of amounts."""
    return [Secret(Sort.AMOUNT, money.text, "here", amount_keys(money)) for money in found]


def told(text: str, secrets: list[Secret] | tuple[Secret, ...]) -> list[str]:
    """Search one text; give what was found."""
    return [hit.secret.text for hit in search({"page": [text]}, secrets)]


def _labour(**more: Any) -> Labour:
    return Labour(
        work_date=date(2025, 4, 9),
        words=Words("Polished the bonnet by hand, two passes."),
        purpose=Purpose.RECONDITIONING,
        standing=Standing.MEASURED,
        person=Id("p-1"),
        quantity=Quantity(Decimal(3), "h"),
        **more,
    )


# How money is written: thousands apart by these signs, decimals behind these.
FORMS = [
    ("", "."), ("", ","), (",", "."), (".", ","), (" ", ","), (" ", "."), ("'", "."),
    ("\u00a0", ","), ("\u202f", ","), ("\u2009", "."), ("\u2019", "."), ("\u2019", ","),
]  # fmt: skip
AROUND = [
    "{}", "paid {}.", "({})", "{} USD", "USD{}", "\u00a3{}", "-{}", "{}\u20ac", "{}kr", "[{},",
]  # fmt: skip


def written(money: Money, form: tuple[str, str], whole: str = "") -> str:
    """Write an amount in one of the forms; "bare" leaves out decimals that are zero."""
    head, _, tail = f"{abs(money).number:,f}".partition(".")
    head = head.replace(",", form[0])
    bare = not tail or (whole == "bare" and not tail.strip("0"))
    return head if bare else f"{head}{form[1]}{tail}"


def no_amount(text: str, around: str = "{}") -> bool:
    """Tell whether a figure is round and bare: a year or a size rather than money."""
    alone = around in ("{}", "paid {}.", "({})", "-{}", "[{},")
    return alone and text.isdigit() and len(text.rstrip("0")) < 4


@given(monies(), st.sampled_from(FORMS), st.sampled_from(AROUND), st.sampled_from(["bare", ""]))
def test_an_amount_is_found_in_every_form_and_its_neighbours_are_not(
    money: Money, form: tuple[str, str], around: str, whole: str
) -> None:
    assume(amount_keys(money))
    assume(not no_amount(written(money, form, whole), around))
    text = around.format(written(money, form, whole))
    assert told(text, amounts(money)) == [money.text]
    near = [Money(abs(money.minor) + step, money.currency) for step in (-1, 1)]
    assert told(text, amounts(*near)) == []


@given(monies(), st.sampled_from(FORMS), st.integers(1, 30))
def test_invisible_breaks_do_not_hide_an_amount(
    money: Money, form: tuple[str, str], at: int
) -> None:
    assume(amount_keys(money))
    text = written(money, form)
    assume(not no_amount(text))
    broken = f"{text[:at]}\u200b\u00ad{text[at:]}"
    assert told(f"for {broken} only", amounts(money)) == [money.text]


@pytest.mark.parametrize(
    ("amount", "currency", "keys"),
    [
        ("1200.00", "USD", ("1200",)),
        ("410.00", "USD", ()),
        ("410.55", "USD", ("410.55",)),
        ("4100.55", "USD", ("4100.55", "=410055")),
        ("12.50", "USD", ()),
        ("0.05", "USD", ()),
        ("1000", "JPY", ("1000",)),
        ("999", "JPY", ()),
        ("1.204", "KWD", ("1.204",)),
        ("1.2345", "CLF", ("1.2345",)),
        ("-1234.00", "USD", ("1234",)),
    ],
)
def test_an_amount_of_four_significant_digits_is_sought(
    amount: str, currency: str, keys: tuple[str, ...]
) -> None:
    assert amount_keys(Money.of(amount, currency)) == keys


@pytest.mark.parametrize(
    "text",
    [
        "chassis AC1204S", "serial 1204B", "a1204", "1204mm", "id 00388 01204", "12.1204",
        "2025-12-04", "1204-05-06", "on 4 April 1204", "at 12:04", "1204.01", "31204", "12045",
        "1,204,000", "9c1f1204" * 8, "1.204.5.6", "AbC+1204/" * 6 + "9x=", "1,2041",
    ],
)  # fmt: skip
def test_what_is_no_such_number_is_no_hit(text: str) -> None:
    assert told(text, amounts(usd("1204"))) == []


@pytest.mark.parametrize(
    "text",
    [
        "1204 um", "96 112 1204 118", "1204, 1310", "1310,1204,1290", "1200-1204", "1204.",
        "1204.0", "EUR1204", "12 1204mm 1204", "Rs.1204", "price_1204", "US$1,204.00", "1'204.-",
        "see data: 1204",
    ],
)  # fmt: skip
def test_what_is_such_a_number_is_a_hit(text: str) -> None:
    assert told(text, amounts(usd("1204"))) == ["1204.00 USD"]


def test_groups_of_two_and_bare_minor_units_are_found() -> None:
    assert told("12,34,567.50", amounts(usd("1234567.50")))
    assert told('{"minor": "6481985"}', amounts(usd("64819.85")))
    assert told("120000 miles", amounts(usd("1200.00"))) == []


def test_a_grouped_hash_holds_no_number_and_readings_do() -> None:
    assert told("9c1f " * 15 + "1204", amounts(usd("1204"))) == []
    assert told("1310 " * 15 + "1204", amounts(usd("1204")))


def everyone() -> list[Secret]:
    people = (
        stored("person", "p-1", Person(name=Words("R. Ashgrove"), role="does it")),
        stored(
            "supplier",
            "s-1",
            Supplier(
                name=Words("Brindle & Sons Paint"),
                contact=Words("Mira O'Connell, mira@brindle.example, 0555 120 441"),
            ),
        ),
        stored("product", "x-1", Product(name="Lumeska No. 3", material_type="wax", unit="g")),
        stored("person", "p-2", Person(name=Words("MR"), role="does it")),
    )
    return list(secrets_of(people, shown=Shown()))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("by r. ASHGROVE today", ["R. Ashgrove"]),
        ("by R.\nAsh\u00adgrove", ["R. Ashgrove"]),
        ("Mr Ashgrove did", ["Ashgrove"]),
        ("an ashgrove stood there", []),
        ("the Ashgroves", []),
        ("Brindle \u0026 sons paint", ["Brindle & Sons Paint"]),
        ("from Brindle", ["Brindle"]),
        ("Paint is thin", []),
        ("Mira O\u2019Connell", ["Mira O'Connell"]),
        ("write to mira@brindle.example", ["mira@brindle.example"]),
        ("call 0555-120-441", ["0555 120 441"]),
        ("lumeska no 3", ["Lumeska No. 3"]),
        ("Lumeska wax", []),
        ("checked, MR", ["MR"]),
        ("Mr Dale", []),
    ],
)
def test_names_are_found_as_whole_words(text: str, found: list[str]) -> None:
    assert told(text, everyone()) == found


def test_names_that_are_shown_are_no_secret() -> None:
    firm = stored("supplier", "s-1", Supplier(name=Words("Tessel & Rowe")))
    assert secrets_of([firm], shown=Shown(names=frozenset({"tessel & rowe"}))) == ()
    same = stored("person", "p-1", Person(name=Words("Anna Tessel"), role="owner"))
    shown = Shown(names=frozenset({"Tessel & Rowe"}))
    assert {each.text for each in secrets_of([same], shown=shown)} == {"Anna Tessel", "Anna"}


def test_people_in_custody_records_are_names() -> None:
    at = "2025-04-03T09:00:00+02:00"
    item = CustodyItem(
        vehicle=Id("v-1"), item=Words("two keys on a ring"), item_class=ItemClass.KEY, found_at=at,
        place=Words("glovebox"), kept_at=Words("steel cupboard, left"), found_by=Id("p-1"),
        witness=Words("Jon Ferrow"),
    )  # fmt: skip
    move = CustodyMove(
        vehicle=Id("v-1"), item=Id("c-1"), to=Words("owner"), moved_at=at, moved_by=Id("p-1"),
        reason=Words("collected"), released_to=Words("Ada Quill"),
    )  # fmt: skip
    kept = [stored("custody item", "c-1", item), stored("custody move", "m-1", move)]
    found = {each.text: each.what for each in secrets_of(kept, shown=Shown())}
    assert found["Jon Ferrow"] == found["Quill"] == Sort.NAME
    assert found["steel cupboard, left"] == found["two keys on a ring"] == Sort.NOTE
    assert at not in found


NOTE = "The owner wants it gone by summer. Ask no more than once!\nHe said so"


def noted(**shown: frozenset[str]) -> tuple[Secret, ...]:
    line = stored("labour", "l-1", _labour(private_note=Words(NOTE)))
    return secrets_of([line], shown=Shown(**shown))


@pytest.mark.parametrize(
    "text",
    [
        "the  OWNER wants\nit gone by summer.",
        "Theownerwantsitgonebysummer.",
        "x the ow\u00adner wants it go ne by summer.",
        "\ufb01nd: The owner wants it gone by summer.",
    ],
)
def test_a_sentence_of_a_note_is_found_whatever_its_blanks(text: str) -> None:
    assert told(text, noted()) == ["The owner wants it gone by summer."]


def test_a_whole_note_is_told_once_and_short_lines_not_at_all() -> None:
    (whole,) = search({"page": [f"before {NOTE} after"]}, noted())
    assert whole.secret.text.startswith("The owner wants it gone")
    assert whole.around.startswith("before The owner")
    assert told("He said so", noted()) == []


def test_a_private_text_that_is_public_elsewhere_is_no_secret_save_a_private_note() -> None:
    assert noted(texts=frozenset({NOTE})) == noted()
    answered = stored("labour", "l-1", _labour(override=Words(NOTE)))
    assert secrets_of([answered], shown=Shown(texts=frozenset({NOTE}))) == ()
    line = stored("labour", "l-1", _labour(override=Words("Left front door")))
    assert secrets_of([line], shown=Shown()) == ()


def test_every_private_amount_of_a_record_is_sought() -> None:
    share = Share(Id("f-1"), Decimal(1), usd("1000.11"), usd("1000.12"))
    line = stored(
        "labour",
        "l-1",
        _labour(billed=usd("1000.13")),
        priced=Priced(usd("1000.14"), usd("1000.15"), usd("1000.16"), (share,), tax=usd("1000.17")),
        booked=Booked(period="2025-04", home=usd("1000.18")),
    )
    three = ThreeAmounts(usd("1000.21"), usd("1000.22"), usd("1000.23"))
    terms = SaleTerms(
        vehicle=Id("v-1"), basis=Basis.HAMMER, as_is=three, labour_cost_rate=usd("1000.24")
    )
    found = secrets_of([line, stored("terms", "t-1", terms)], shown=Shown())
    amounts_found = {each.text for each in found if each.what == Sort.AMOUNT}
    wanted = [*range(11, 19), *range(21, 25)]
    assert amounts_found == {f"1,000.{cents} USD" for cents in wanted}
    places = {each.text: each.where for each in found}
    assert places["1,000.11 USD"] == "labour row l-1, shares cost"
    assert places["1,000.22 USD"] == "terms row t-1, as is likely"


def test_amounts_in_a_kept_text_are_sought() -> None:
    three = ThreeAmounts(usd("1.00"), usd("2.00"), usd("3.00"))
    frozen = '{"spent":[{"currency":"USD","minor":"6481985"}]}'
    decision = Decision(
        vehicle=Id("v-1"), decided_on=date(2025, 4, 9), chosen=(), price=three,
        basis=Basis.HAMMER, cost=three, net=three, proven=True, inputs=frozen, versions="1",
    )  # fmt: skip
    (found,) = secrets_of([stored("decision", "d-1", decision)], shown=Shown())
    assert (found.text, found.what) == ("64,819.85 USD", "amount")


def test_a_field_that_somebody_adds_is_private() -> None:
    later = dataclasses.make_dataclass(
        "Later", [("haggled_to", Money), ("whispered", Words)], bases=(Sublet,), frozen=True,
        kw_only=True,
    )  # fmt: skip
    entry = later(
        work_date=date(2025, 4, 9), words=Words("Chromed the handles."), price=usd("1.00"),
        purpose=Purpose.RECONDITIONING, standing=Standing.INVOICED,
        haggled_to=usd("4321.09"), whispered=Words("never say this aloud"),
    )  # fmt: skip
    assert "haggled_to" in hints(later)
    found = {each.text for each in secrets_of([stored("sublet", "l-1", entry)], shown=Shown())}
    assert found == {"4,321.09 USD", "never say this aloud"}


def test_public_fields_are_no_secrets() -> None:
    assert "words" in PUBLIC["labour"]
    assert secrets_of([stored("labour", "l-1", _labour())], shown=Shown()) == ()


SPOT = (Decimal("51.507110"), Decimal("-0.127758"))


@pytest.mark.parametrize(
    "text",
    [
        "51.5071", "51,5075 N", "at -0.1278", "lon=0.126", "51\u00b030'25.6\"N",
        "51 \u00b0 30\u2032 25,6\u2033", "51\u00ba 30' 25\"", "51\u00b0 30.427'",
        "51 deg 30' 25.6\"",
    ],
)  # fmt: skip
def test_a_place_is_found(text: str) -> None:
    assert told(text, secrets_of((), shown=Shown(), places=[SPOT])) == ["51.507110, -0.127758"]


@pytest.mark.parametrize(
    "text", ["51.51", "51.5171", "151.5071", "51.5.071", "51\u00b0 31'", "20 \u00b0C", "0.1301"]
)
def test_what_lies_elsewhere_is_no_place(text: str) -> None:
    assert told(text, secrets_of((), shown=Shown(), places=[SPOT])) == []


def test_one_hit_for_each_output_and_thing() -> None:
    hits = search({"a": ["1204 and 1204"], "b": ["", "1204"], "c": []}, amounts(usd("1204")))
    assert [(hit.output, hit.around) for hit in hits] == [("a", "1204 and 1204"), ("b", "| 1204")]


def test_a_code_names_the_thing_and_not_where_it_is() -> None:
    one = Secret(Sort.NAME, "R. Ashgrove", "person p, name")
    assert code_of(KEY, one) == code_of(KEY, dataclasses.replace(one, where="sale s, buyer"))
    assert code_of(KEY, one) != code_of(b"x" * 32, one)
    assert code_of(KEY, one) != code_of(KEY, dataclasses.replace(one, what=Sort.NOTE))
    assert len(code_of(KEY, one)) == 8
    assert not set(code_of(KEY, one)) & set("01il")


def test_the_refusal_lists_ten_and_counts_the_rest() -> None:
    made = amounts(*(usd(f"{1000 + number}.00") for number in range(13)))
    hits = [Hit("page.html", secret, "for it") for secret in made]
    refused = LeakFound("MY-CAR", hits, {each: code_of(KEY, each) for each in made})
    assert "MY-CAR" in refused.what
    assert code_of(KEY, made[0]) in refused.where
    assert "amount '1000.00 USD' (here) in page.html: ...for it..." in refused.where
    assert refused.where.count("page.html") == 10
    assert refused.where.endswith("and 3 more")
    assert "let-pass MY-CAR CODE REASON" in refused.todo
