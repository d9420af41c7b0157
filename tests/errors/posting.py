"""Entries that no command can make, posted straight into the book of a case."""

from __future__ import annotations

import os
import uuid
from datetime import date
from typing import Any

from recondition.amounts import Money, Quantity
from recondition.book import reading
from recondition.book.editions import post_edition
from recondition.book.keys import no_passphrase
from recondition.book.posting import Poster
from recondition.fields import Id, Words
from recondition.history.records import Edition
from recondition.ledger.approvals import OwnerInvoice
from recondition.ledger.drafts import Draft
from recondition.ledger.lines import Consumable, Link, Purpose, Standing
from recondition.materials.measuring import Measure, Way
from recondition.materials.receiving import Receipt
from recondition.reports import history_release
from tests.places import opened
from tests.running import done

DAY = date(2031, 3, 4)


def _post(kind: str, build: Any) -> None:
    """Post one entry that is built from the book's ids by kind and ref."""
    book = opened(os.environ["RECONDITION_BOOK"])
    with book.writing() as conn:

        def found(of: str, ref: str) -> Id:
            return Id(reading.id_of(conn, of, ref))

        draft = Draft(id=uuid.uuid4().hex, kind=kind, ref="N-1", entry=build(found))
        Poster(book, conn, found("person", "MR")).post(draft)


def receive(price: str, litres: int = 1) -> None:
    """Receive some litres of M-001."""
    litre = Quantity.of(litres, "l")
    _post("receipt", lambda found: Receipt(
        product=found("product", "M-001"), received_on=DAY, quantity=litre,
        price=Money.of(price, "USD"),
    ))  # fmt: skip


def use(**measured: Any) -> None:
    """Use M-001 on the bonnet of 0007, measured as given."""
    measure = Measure(way=Way.MIXED, **measured) if measured else None
    _post("consumable", lambda found: Consumable(
        vehicle=found("vehicle", "0007"), work_date=DAY, words=Words("polish"),
        links=(Link(found("finding", "F-001")),), purpose=Purpose.RECONDITIONING,
        standing=Standing.MEASURED, product=found("product", "M-001"), measure=measure,
    ))  # fmt: skip


def bill(line: str, total: str) -> None:
    """Bill a line to the owner of 0008."""
    _post("owner invoice", lambda found: OwnerInvoice(
        vehicle=found("vehicle", "0008"), issued_on=DAY, lines=(found("labour", line),),
        total=Money.of(total, "USD"),
    ))  # fmt: skip


def release(number: int) -> None:
    """Release an edition of 0007 that supersedes nothing."""
    book = opened(os.environ["RECONDITION_BOOK"])
    with book.reading() as conn:
        vehicle = Id(reading.id_of(conn, "vehicle", "0007"))
    made = Edition(
        vehicle=vehicle, number=number, made_on=DAY, head="a" * 64, code="0123-4567-89AB-CDEF",
        fingerprint="0123-4567", content="b" * 64, locale="en",
    )  # fmt: skip
    post_edition(book, "MR", made)


def release_late() -> None:
    """Release an edition of 0007 while somebody ends a finding of it."""
    book, late = opened(os.environ["RECONDITION_BOOK"]), []

    def told(*_: Any) -> None:
        if not late:
            late.append("recondition finding end 0007 F-001 resolved --severity-after 0")
            done(late[0])

    history_release.release(book, history_release.Wanted(
        vehicle="0007", made_on=DAY, author="MR", told=told,
    ), no_passphrase)  # fmt: skip
