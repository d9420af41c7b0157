"""From the sheet to its layout: which sections there are and what stands in each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from recondition.condition.findings import SEVERITY_WORDS, Ended
from recondition.condition.vehicle import TrueDistance
from recondition.history import phrases as ph
from recondition.history import wording as w
from recondition.history import wording_proof as wp
from recondition.history.layout import (
    Block,
    Fact,
    Facts,
    Page,
    Pictures,
    Proof,
    Section,
    Shot,
    Text,
)
from recondition.history.page_done import parts, surfaces
from recondition.history.page_evidence import arrival, corrections, evidence, pairs
from recondition.history.page_found import before_after, found, left_alone, not_inspected, remaining
from recondition.history.page_measured import measured
from recondition.history.saying import Saying
from recondition.history.timeline import timeline

if TYPE_CHECKING:
    from collections.abc import Callable

    from recondition.history.sheet import FindingRow, Identity, Sheet

TIMELINE, AS_FOUND, AS_IT_STANDS = "drawing/timeline", "drawing/as-found", "drawing/as-it-stands"


def lay_out(sheet: Sheet, drawings: Mapping[str, Shot] | None = None) -> Page:
    """Arrange a sheet as the sections that every medium shows, in one order.

    ``drawings`` gives those that were drawn by their names; without them there are none.
    Raises NoSuchLocale.
    """
    say, drawn = Saying(sheet.issue.locale), drawings or {}
    shop = sheet.shop_name or w.UNNAMED_SHOP
    car = sheet.identity
    said = car.model_year is None or str(car.model_year) in car.designation
    year = "" if said else f", {car.model_year}"
    maps = _drawn(w.MAPS_INTRO, drawn, AS_FOUND, AS_IT_STANDS)
    return Page(
        language=say.tag,
        title=w.TITLE,
        subject=f"{car.designation}{year}",
        byline=ph.made_by(shop, say.day(sheet.made_on)),
        edition=_edition(sheet, say),
        made_on=sheet.made_on.isoformat(),
        summary=_summary(sheet),
        sections=(
            Section("vehicle", w.IDENTITY, (_identity(sheet, say),)),
            Section("condition", w.CONDITION, (*found(sheet, say), *arrival(sheet, say))),
            Section("surfaces", w.PANELS, surfaces(sheet)),
            Section(
                "work",
                w.WORK,
                (*_drawn(w.TIMELINE_CAPTION, drawn, TIMELINE), *timeline(sheet, say)),
            ),
            Section("measured", w.MEASURED, measured(sheet, say)),
            Section("findings", w.BEFORE_AFTER, (*maps, *before_after(sheet, say))),
            Section("pictures", w.PICTURES, pairs(sheet, say)),
            Section("parts", w.PARTS, parts(sheet, say)),
            Section("left-alone", w.LEFT_ALONE, left_alone(sheet, say)),
            Section("remaining", w.REMAINING, remaining(sheet)),
            Section("not-inspected", w.NOT_INSPECTED, not_inspected(sheet)),
            Section("evidence", w.EVIDENCE, evidence(sheet, say)),
            Section("corrections", w.CORRECTIONS, corrections(sheet, say)),
            Section("limits", w.LIMITS, (Text(w.LIMITS_TEXT),)),
            Section("words", w.WORDS_USED, (_words_used(),)),
            Section("made", w.MADE, _made(sheet, say)),
        ),
    )


def _drawn(caption: str, drawn: Mapping[str, Shot], *names: str) -> tuple[Block, ...]:
    """Give the drawings of these names side by side; nothing where there are none."""
    shots = tuple(drawn[name] for name in names if name in drawn)
    return (Pictures(caption, (shots,), drawn=True),) if shots else ()


def _edition(sheet: Sheet, say: Saying) -> str:
    """Say which edition this is and what it takes the place of."""
    if sheet.issue.number is None:
        return w.TRIAL_COPY
    own = f"{w.EDITION} {sheet.issue.number}"
    if not sheet.editions:
        return own
    last = sheet.editions[-1]
    return ph.takes_the_place(own, last.number, say.day(last.made_on))


def _summary(sheet: Sheet) -> tuple[Fact, ...]:
    """Count how the findings ended; what is open or unseen is counted beside what is done."""

    def count(test: Callable[[FindingRow], bool]) -> tuple[str, ...]:
        return (str(sum(1 for row in sheet.findings if test(row))),)

    def ended(how: Ended) -> Callable[[FindingRow], bool]:
        return lambda row: row.last is not None and row.last.ended is how

    return (
        Fact(w.SUMMARY["findings"], (str(len(sheet.findings)),)),
        Fact(w.SUMMARY["resolved"], count(ended(Ended.RESOLVED))),
        Fact(w.SUMMARY["partly"], count(ended(Ended.PARTLY_RESOLVED))),
        Fact(w.SUMMARY["left"], count(lambda row: row.left_alone)),
        Fact(w.SUMMARY["unseen"], count(lambda row: row.not_inspected)),
        Fact(w.SUMMARY["open"], count(lambda row: row.last is None and not row.not_inspected)),
        Fact(w.SUMMARY["remain"], count(lambda row: row.remains)),
    )


def _identity(sheet: Sheet, say: Saying) -> Facts:
    """Set out what the vehicle is; numbers stand exactly as they were read."""
    car = sheet.identity
    plain = {
        "designation": car.designation,
        "model_year": str(car.model_year) if car.model_year else None,
        "body_style": car.body_style,
        "colour": car.colour,
        "trim": car.trim,
    }
    stamped = {"engine_number": car.engine_number, "body_number": car.body_number}
    return Facts(
        (
            *(Fact(w.NAMES[name], (value or w.NOT_RECORDED,)) for name, value in plain.items()),
            *_chassis(car),
            *(
                Fact(w.NAMES[name], (value or w.NOT_RECORDED,), exact=True)
                for name, value in stamped.items()
            ),
            _odometer(car),
            _care(sheet, say),
        ),
    )


def _care(sheet: Sheet, say: Saying) -> Fact:
    """Say in whose care the vehicle was, and since when."""
    shop, arrived = sheet.shop_name or w.UNNAMED_SHOP, sheet.identity.arrived_on
    since = say.day(arrived) if arrived else w.DAY_NOT_RECORDED
    return Fact(w.NAMES["care"], (ph.in_care_since(shop, since),))


def _chassis(car: Identity) -> tuple[Fact, ...]:
    """Give the chassis number as stamped and, where it is not the same, as on the documents."""
    stamped, papers = car.chassis_stamped, car.chassis_documents
    name, on_papers = w.NAMES["chassis_stamped"], w.NAMES["chassis_documents"]
    if stamped and papers and stamped != papers:
        differ = (w.DIFFER,)
        return (
            Fact(name, (stamped,), differ, exact=True),
            Fact(on_papers, (papers,), differ, exact=True),
        )
    if stamped:
        said = w.SAME_ON_PAPER if papers else w.NOT_COMPARED
        return (Fact(name, (stamped,), (said,), exact=True),)
    missing = Fact(name, (w.NOT_RECORDED,))
    return (missing, Fact(on_papers, (papers,), exact=True)) if papers else (missing,)


def _odometer(car: Identity) -> Fact:
    """Give the digits shown, and beside them what is known about the distance."""
    claimed = car.true_distance is not TrueDistance.NOT_KNOWN
    basis = car.odometer_words or (w.NOT_BASED if claimed else None)
    known = (w.DISTANCE_WORDS[car.true_distance], *filter(None, (basis,)))
    if not car.odometer_shown:
        return Fact(w.NAMES["odometer"], (w.NOT_RECORDED,), known)
    turns = (ph.wheels(car.odometer_wheels),) if car.odometer_wheels else ()
    shown = f"{car.odometer_shown} ({w.UNIT_OF_ODOMETER[car.odometer_unit]})"
    return Fact(w.NAMES["odometer"], (shown,), (*turns, *known), exact=True)


def _words_used() -> Facts:
    """Say what the words of the sheet mean."""
    scale = "; ".join(f"{level} {words}" for level, words in enumerate(SEVERITY_WORDS))
    meanings = (
        *((ph.term(ended), text) for ended, text in w.ENDED_MEANING.items()),
        *((ph.term(origin), text) for origin, text in w.ORIGIN_MEANING.items()),
        *w.MORE_MEANINGS.items(),
    )
    return Facts((Fact(ph.SEVERITY, (scale,)), *(Fact(name, (text,)) for name, text in meanings)))


def _made(sheet: Sheet, say: Saying) -> tuple[Block, ...]:
    """Say what the sheet was made from, and how anybody checks it."""
    proof = Proof(wp.CODE, wp.FINGERPRINT, wp.CHECK, wp.CHECK_WORDS["not_checked"])
    edition = Fact(w.EDITION, (_edition(sheet, say),))
    if sheet.anchor is None:
        return (Text((w.NOT_ANCHORED, *wp.VERIFY)), Facts((edition,)), proof)
    count = Fact(ph.RECORDS, (say.number(sheet.anchor.count),))
    last = Fact(ph.LAST_HASH, (sheet.anchor.hash,), exact=True)
    return (Text((*w.ANCHORED, *wp.VERIFY)), Facts((edition, count, last)), proof)
