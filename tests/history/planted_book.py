"""A real book whose every private field holds a marker, with two vehicles to release."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest
from PIL import Image

from recondition.accounts.invoices import Payment, SupplierInvoice
from recondition.amounts import Money, Quantity
from recondition.amounts.documents import Foreign
from recondition.book import reading
from recondition.condition.water import WaterHardness
from recondition.fields import Id, Words
from recondition.ledger.approvals import Approval, ChangeRequest, How, OwnerInvoice
from recondition.ledger.clocks import Clock, Mark, Tick
from recondition.ledger.documents import Document, DocumentKind, Visibility
from recondition.ledger.items import CostItem
from recondition.ledger.lines import Charge, Consumable, Count, Labour, Origin, Part, Sublet
from recondition.ledger.people import Setting
from recondition.ledger.periods import Accrual, PeriodEvent, PeriodStep
from recondition.ledger.shared import SharedBy, SharedCharge
from recondition.ledger.taxes import TaxCode
from recondition.materials.measuring import Measure, Way
from tests.book import make, make_bench
from tests.book.make_logins import on_pages
from tests.book.make_stock import received
from tests.history.planting import CLOCK, FIGURE, HIDDEN, Planter

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book
    from recondition.ledger.drafts import Draft
    from tests.book.make import FilledBook

TAX = f"{HIDDEN} code"
OWED = Money.of("90917287.77", "USD")
FOREIGN = Foreign(
    amount=Money.of("90917284.44", "EUR"), rate=Decimal(f"2.{FIGURE}5"), source=f"{HIDDEN} bank"
)
OWN, THEIRS = "0007", "0008"
LINKED = 90917283


def fill(book: Book, folder: Path, planter: Planter) -> FilledBook:
    """Fill a book with every kind of record, planted, and with what those leave out."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(make, "post", planter.post)
        patch.setattr(make_bench, "post", planter.post)
        filled = make.filled_book(book, folder)
        _more(filled, folder)
    on_pages(book, filled.ids["HK"], filled.ids[OWN], mark=HIDDEN, number=LINKED)
    return filled


def photograph() -> bytes:
    """Give a JPEG as a telephone writes it: where it was taken, by whose device, a remark."""
    image = Image.radial_gradient("L").resize((320, 240)).convert("RGB")
    exif = Image.Exif()
    exif[0x010F] = f"{HIDDEN} maker"
    exif[0xA431] = f"{HIDDEN} serial"
    exif[0x8825] = {1: "N", 2: (44.0, 30.0, 8.08), 3: "E", 4: (7.0, 12.0, 17.28)}
    file = io.BytesIO()
    image.save(file, "JPEG", exif=exif, comment=f"{HIDDEN} remark".encode())
    return file.getvalue()


def _document(folder: Path, ref: str, content: bytes, **more: Any) -> Draft:
    """Keep a file of the own vehicle."""
    file = folder / ref
    file.write_bytes(content)
    given = {"kind": DocumentKind.PHOTOGRAPH, "title": Words("the roof from above"),
             "visibility": Visibility.LISTING} | more  # fmt: skip
    return make.draft("document", ref, Document(**given), file=file)


def _foreign(*, taxed: bool = True) -> dict[str, Any]:
    """Give an amount in foreign money, with the tax on it, all of it marked."""
    tax = {"tax_code": TAX, "tax": Money.of("90917282.22", "USD")}
    return {"foreign": FOREIGN, "price": FOREIGN.home("USD"), **(tax if taxed else {})}


@dataclass(frozen=True)
class _Known:
    """The book and the ids that further records lean on."""

    book: Book
    ids: dict[str, Id]
    own: Id
    theirs: Id
    owner: Id
    mine: dict[str, Any]
    asked: dict[str, Any]

    def add(self, kind: str, ref: str, entry: Any) -> Id:
        return make.add(self.book, kind, ref, entry)


def _more(filled: FilledBook, folder: Path) -> None:
    """Post what the first record of a kind could not hold for want of something beside it."""
    book, ids = filled.book, filled.ids
    with book.reading() as conn:
        theirs = Id(reading.id_of(conn, "vehicle", THEIRS))
        owner = Id(reading.id_of(conn, "person", "OW"))
        theirs_finding = Id(reading.id_of(conn, "finding", "F-3"))
    known = _Known(
        book=book,
        ids=ids,
        own=ids[OWN],
        theirs=theirs,
        owner=owner,
        mine=make.line(ids[OWN], links=make.links(ids["F-1"])),
        asked={"billed": OWED, **make.line(theirs, links=make.links(theirs_finding))},
    )
    _lines(known)
    _stock(known)
    _books(known)
    _owner(known)
    _files(known, folder)


def _lines(known: _Known) -> None:
    """Post lines that stand: with foreign money and tax, and with what an owner is billed."""
    mine, asked, add = known.mine, known.asked, known.add
    code = TaxCode(
        code=TAX,
        from_date=date(1881, 1, 1),
        rate=Decimal("0.1"),
        recoverable=Decimal(1),
        charged_on=("part",),
        source=Words("invented"),
    )
    add("tax code", "TC-9", code)
    moments = {"started_at": f"2031-03-04T{CLOCK}+00:00", "ended_at": f"2031-03-05T{CLOCK}+00:00"}
    hours = {"person": known.ids["HK"], "quantity": Quantity.of(1, "h")}
    add("labour", f"{HIDDEN} row", Labour(**hours, **moments, **mine))
    add("labour", "L-theirs", Labour(**hours, **asked))
    part = {"quantity": Quantity.of(1, "piece"), "origin": Origin.USED, "part_name": Words("lamp")}
    add("part", "P-own", Part(**part, **_foreign(), **mine))
    add("part", "P-theirs", Part(**part, price=OWED, **asked))
    add("sublet", "S-own", Sublet(**_foreign(), **mine))
    add("sublet", "S-theirs", Sublet(price=OWED, **asked))
    add("charge", "C-own", Charge(**_foreign(), **mine))
    add("charge", "C-theirs", Charge(price=OWED, **asked))
    mark = Mark(tick=Tick.START, at=f"2031-03-04T{CLOCK}+00:00")
    running = Clock(
        vehicle=known.own,
        person=known.owner,
        words=Words("wipe"),
        marks=(mark,),
        links=mine["links"],
    )
    add("clock", "CK-9", running)


def _stock(known: _Known) -> None:
    """Post uses with a price of their own, weighed ones, counts, and a receipt in foreign money."""
    ids, add = known.ids, known.add
    priced = {"product": ids["PR-1"], "quantity": Quantity.of(1, "ml"), "price": OWED}
    for line, ref in ((known.mine, "N-own"), (known.asked, "N-theirs")):
        add("consumable", ref, Consumable(**priced, price_per=Quantity.of(1, "ml"), **line))
    scale = Measure(
        way=Way.WEIGHED,
        gross_before=Quantity.of(f"80001.{FIGURE}", "g"),
        gross_after=Quantity.of(f"80000.{FIGURE}", "g"),
    )
    used = Consumable(product=ids["PR-2"], measure=scale, **known.mine)
    add("consumable", "N-weighed", used)
    counted = {"product": ids["PR-2"], "counted": Quantity.of(f"500.{FIGURE}", "ml")}
    add("count", "Q-own", Count(**counted, **known.mine))
    add("count", "Q-theirs", Count(**counted, **known.asked))
    add("receipt", "RC-9", replace(received(ids["PR-1"]), **_foreign(taxed=False)))
    hard = Quantity.of(f"88.{FIGURE}", "mg_l")
    tap = WaterHardness(tap="yard", read_on=make.DAY, calcium=hard, magnesium=hard)
    add("water hardness", "H-9", tap)


def _books(known: _Known) -> None:
    """Post what the books need to agree with: invoices, a payment, shared freight, an accrual."""
    ids, add = known.ids, known.add
    add("setting", "upkeep a day", Setting(value="90917281.11"))
    bill = SupplierInvoice(
        supplier=ids["SU-1"],
        number="9",
        invoice_on=make.DAY,
        total=FOREIGN.home("USD"),
        foreign=FOREIGN,
    )
    abroad = add("supplier invoice", "SI-9", bill)
    later = replace(FOREIGN, rate=Decimal(f"3.{FIGURE}7"))
    paid = Payment(paid_on=make.DAY, amount=later.home("USD"), foreign=later, invoice=abroad)
    add("payment", "PY-9", paid)
    plain = replace(bill, number="10", foreign=None, total=OWED)
    owed = add("supplier invoice", "SI-10", plain)
    add("payment", "PY-10", Payment(paid_on=make.DAY, amount=OWED, invoice=owed))
    shared = SharedCharge(
        work_date=make.DAY,
        vehicles=(known.own, known.theirs),
        by=SharedBy.WEIGHT,
        words=Words("both"),
        item=CostItem.INLAND_HAULAGE,
        weights=(Decimal(f"1.{FIGURE}1"), Decimal(f"2.{FIGURE}2")),
        **_foreign(),
    )
    add("shared charge", "SC-9", shared)
    accrual = Accrual(
        order=ids["OR-1"], vehicle=known.own, received_on=date(1893, 1, 2), amount=OWED
    )
    reopened = PeriodEvent(
        period="2030-12",
        step=PeriodStep.REOPENED,
        why=Words("again"),
        map_version="m",
        journal="[]",
        debits=make.usd("0"),
        heads="h",
        accruals=(accrual,),
    )
    add("period event", "2030-12 reopened 2", reopened)


def _owner(known: _Known) -> None:
    """Post what an owner was asked, allowed and billed."""
    work = (known.ids["C-9"],)
    with known.book.reading() as conn:
        billed = Id(reading.line_id_of(conn, "sublet:S-theirs"))
    invoice = OwnerInvoice(vehicle=known.theirs, issued_on=make.DAY, lines=(billed,), total=OWED)
    known.add("owner invoice", "IV-9", invoice)
    asked = ChangeRequest(
        vehicle=known.theirs,
        asked_on=make.DAY,
        candidates=work,
        amount=make.usd("1"),
        words=Words("more"),
    )
    request = known.add("change request", "CR-9", asked)
    allowed = Approval(
        vehicle=known.theirs,
        answered_on=make.DAY,
        candidates=work,
        amount=make.usd("1"),
        how=How.MESSAGE,
        by=known.owner,
        request=request,
    )
    known.add("approval", "AP-9", allowed)


def _files(known: _Known, folder: Path) -> None:
    """Keep listed files of both vehicles, and one whose very title is private."""
    picture, own = photograph(), known.own
    secret = Words(f"{HIDDEN} title of a private file")
    letter = {"kind": DocumentKind.CERTIFICATE, "title": Words("letter of the maker")}
    make.post(
        known.book,
        _document(folder, "D-2", picture, vehicle=own, file_name=Words("a.jpg")),
        _document(
            folder, "D-3", picture, vehicle=own, title=secret, visibility=Visibility.EVIDENCE
        ),
        _document(folder, "D-4", b"A letter of the maker, copied out.\n", vehicle=own, **letter),
        _document(folder, "D-5", picture, vehicle=known.theirs),
    )
