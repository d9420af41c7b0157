"""What was measured and photographed of the invented vehicle, and its earlier editions."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from recondition.amounts import Quantity
from recondition.condition.film import FilmReading, Instrument, Principle
from recondition.condition.findings import When
from recondition.condition.gloss import GlossReading
from recondition.condition.identification import IdentificationTest, SurfaceTest
from recondition.condition.water import DropReading
from recondition.fields import Id, Words
from recondition.history.records import Edition, EditionWithdrawn
from recondition.history.source import Issued
from recondition.ledger.documents import Document, DocumentKind, Visibility
from recondition.ledger.drafts import Stored
from tests.history.storing import CAR, stored

FIRST, LAST = date(2025, 4, 3), date(2025, 4, 18)
INSTRUMENT = Instrument(
    name="Tallgren 4",
    principle=Principle.BOTH,
    uncertainty=Quantity(Decimal("2.5"), "um"),
    serial="TG-118",
)


def _um(number: str) -> Quantity:
    return Quantity.of(number, "um")


def figures(text: str) -> tuple[Decimal, ...]:
    """Read several figures."""
    return tuple(Decimal(each) for each in text.split())


def film(panel: str, values: str, day: date, unit: str = "um", **more: Any) -> FilmReading:
    """Give film readings."""
    return FilmReading(
        vehicle=CAR,
        panel=panel,
        readings=figures(values),
        unit=unit,
        instrument=Id("g-1"),
        read_on=day,
        **more,
    )


def gloss(values: str, day: date, **more: Any) -> GlossReading:
    """Give gloss readings of the bonnet at 60 degrees."""
    return GlossReading(
        vehicle=CAR, panel="bonnet", readings=figures(values), unit="GU60", read_on=day, **more
    )


def readings() -> tuple[Stored[Any], ...]:
    """Film and gloss of the bonnet twice at one place, film of a wing once, drops, a test."""
    checks = {
        "zero": _um("0"),
        "foil": _um("50"),
        "foil_read": _um("51"),
        "zero_after": _um("0.5"),
        "foil_after": _um("50"),
    }
    centre = {"place": "centre", "step": "machine polishing"}
    told: tuple[tuple[str, Any], ...] = (
        ("film reading", film("bonnet", "96 104 93 99", FIRST, when=When.BEFORE, **centre, **checks,
                              private_note=Words("Battery of the gauge was low."))),
        ("film reading", film("bonnet", "91 95 92 94", LAST, when=When.AFTER, **centre, **checks,
                              words=Words("On the same spots as before."))),
        ("film reading", film("right front wing", "12.2 12.6 11.8", FIRST, unit="mil")),
        ("gloss reading", gloss("41 43 45", FIRST, place="centre")),
        ("gloss reading", gloss("64 66 68", LAST, place="Centre")),
        ("drop reading", DropReading(
            vehicle=CAR, panel="roof", heights=figures("1.5 1.5"), widths=figures("3 3"),
            soap_rinsed=True, read_on=FIRST, place="middle")),
        ("surface test", SurfaceTest(
            vehicle=CAR, panel="roof", test=IdentificationTest.CLOTH, answer="colour on the cloth",
            tested_on=FIRST, place="near the gutter", words=Words("White cloth, one wipe."))),
        ("surface test", SurfaceTest(
            vehicle=CAR, panel="bonnet", test=IdentificationTest.GLUE_TACK, answer="not done",
            tested_on=FIRST)),
    )  # fmt: skip
    return tuple(
        stored(kind, f"m-{n}", entry, sequence=70 + n) for n, (kind, entry) in enumerate(told)
    )


def _picture(title: str, day: date, **more: Any) -> Document:
    """Give a photograph of the bonnet that may be listed."""
    return Document(
        vehicle=CAR,
        kind=DocumentKind.PHOTOGRAPH,
        title=Words(title),
        panel="bonnet",
        taken_at=f"{day.isoformat()}T10:00:00+02:00",
        file_name=Words(f"camera {title} 0001.jpg"),
        **({"visibility": Visibility.LISTING} | more),
    )


def documents() -> tuple[Stored[Document], ...]:
    """Give a pair of the bonnet, a wide picture and a tracing; and two files that stay private."""
    told = {
        "d-before": _picture("bonnet under the point light", FIRST, finding=Id("f-bonnet")),
        "d-after": _picture(
            "the same place after the last step", LAST, visibility=Visibility.BOTH,
            before=Id("d-before"), camera_ahead=Quantity.of("60", "min"),
        ),
        "d-wide": _picture("as it rolled in", date(2025, 4, 2)),
        "d-tracing": Document(
            vehicle=CAR, kind=DocumentKind.CERTIFICATE, title=Words("tracing of the side stripe"),
            visibility=Visibility.LISTING,
        ),
        "d-invoice": Document(
            vehicle=CAR, kind=DocumentKind.INVOICE, title=Words("decals, invoice of the maker"),
        ),
        "d-private": _picture("the owner's garage", FIRST, visibility=Visibility.EVIDENCE),
    }  # fmt: skip
    return tuple(
        stored("document", name, entry, sequence=90 + n)
        for n, (name, entry) in enumerate(told.items())
    )


def issued(found: Iterable[Stored[Document]]) -> dict[str, Issued]:
    """Give the listed files as they are handed out, with hashes that are made up."""
    files: dict[str, Issued] = {}
    listed = [each for each in found if each.entry.visibility is not Visibility.EVIDENCE]
    for n, each in enumerate(listed, start=1):
        photograph = each.entry.kind is DocumentKind.PHOTOGRAPH
        files[each.id] = Issued(
            media_type="image/jpeg" if photograph else "application/pdf",
            sha256=f"{n:x}a" * 32,
            size_bytes=10_000 + n,
            picture_sha256=f"{n:x}b" * 32 if photograph else None,
        )
    return files


def sealed() -> dict[str, str]:
    """Give the salted hashes of the untouched files."""
    return {each.id: f"{n:x}e" * 32 for n, each in enumerate(documents(), start=1)}


def earlier_editions() -> tuple[Stored[Edition], ...]:
    """Two that went out before; the first is withdrawn."""
    return tuple(
        stored(
            "edition",
            f"e-{number}",
            Edition(
                vehicle=CAR,
                number=number,
                made_on=day,
                head=f"{number:x}c" * 32,
                code=f"{number:04}-4567-89AB-CDEF",
                fingerprint="-".join([f"{number:04}"] * 8),
                content=f"{number:x}d" * 32,
                locale="en_GB",
            ),
            sequence=100 + number,
            at=f"{day.isoformat()}T18:00:00+02:00",
        )
        for number, day in ((1, date(2025, 5, 12)), (2, date(2025, 6, 1)))
    )


def withdrawn() -> dict[str, Stored[EditionWithdrawn]]:
    """Withdraw the first edition, which named a wrong panel."""
    gone = EditionWithdrawn(
        vehicle=CAR,
        edition=Id("e-1"),
        withdrawn_on=date(2025, 5, 30),
        reason=Words("It named a wrong panel for the stone chips."),
    )
    return {"e-1": stored("edition withdrawn", "ew-1", gone)}
