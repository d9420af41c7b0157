"""From the sheet to its layout: which sections there are and what stands in each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.condition.findings import SEVERITY_WORDS, Ended, Stage
from recondition.history import wording as w
from recondition.history.layout import Block, Cell, Fact, Facts, Page, Scale, Section, Table, Text
from recondition.history.timeline import timeline
from recondition.ledger.lines import Origin

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import date

    from recondition.history.sheet import Ending, FindingRow, Identity, Sheet
    from recondition.history.work import PartRow


def lay_out(sheet: Sheet) -> Page:
    """Arrange a sheet as the sections that every medium shows, in one order."""
    shop = sheet.shop_name or w.UNNAMED_SHOP
    car = sheet.identity
    said = car.model_year is None or str(car.model_year) in car.designation
    year = "" if said else f", {car.model_year}"
    return Page(
        language=w.LANGUAGE,
        title=w.TITLE,
        subject=f"{car.designation}{year}",
        byline=f"Made by {shop} on {w.day(sheet.made_on)}",
        made_on=sheet.made_on.isoformat(),
        summary=_summary(sheet),
        sections=(
            Section("vehicle", w.IDENTITY, (_identity(sheet.identity),)),
            Section("condition", w.CONDITION, _condition(sheet)),
            Section("surfaces", w.PANELS, _panels(sheet)),
            Section("work", w.WORK, timeline(sheet)),
            Section("findings", w.BEFORE_AFTER, _before_after(sheet)),
            Section("parts", w.PARTS, _parts(sheet.parts)),
            Section("left-alone", w.LEFT_ALONE, _left_alone(sheet)),
            Section("remaining", w.REMAINING, _remaining(sheet)),
            Section("not-inspected", w.NOT_INSPECTED, _not_inspected(sheet)),
            Section("limits", w.LIMITS, (Text(w.LIMITS_TEXT),)),
            Section("words", w.WORDS_USED, (_words_used(),)),
            Section("made", w.MADE, _made(sheet)),
        ),
    )


def _summary(sheet: Sheet) -> tuple[Fact, ...]:
    """Count how the findings ended; what is open or unseen is counted beside what is done."""

    def count(test: Callable[[FindingRow], bool]) -> tuple[str, ...]:
        return (str(sum(1 for row in sheet.findings if test(row))),)

    def ended(how: Ended) -> Callable[[FindingRow], bool]:
        return lambda row: row.last is not None and row.last.ended is how

    return (
        Fact("findings", (str(len(sheet.findings)),)),
        Fact("resolved", count(ended(Ended.RESOLVED))),
        Fact("partly resolved", count(ended(Ended.PARTLY_RESOLVED))),
        Fact("left alone on purpose", count(lambda row: row.left_alone)),
        Fact("not inspected", count(lambda row: row.not_inspected)),
        Fact("known to remain", count(lambda row: row.remains)),
    )


def _identity(car: Identity) -> Facts:
    """Set out what the vehicle is; numbers stand exactly as they were read."""
    plain = (
        ("Designation", car.designation),
        ("Year", str(car.model_year) if car.model_year else None),
        ("Body style", car.body_style),
        ("Colour", car.colour),
    )
    engine = Fact("Engine number", (car.engine_number or w.NOT_RECORDED,), exact=True)
    arrived = w.day(car.arrived_on) if car.arrived_on else w.NOT_RECORDED
    return Facts(
        (
            *(Fact(name, (value or w.NOT_RECORDED,)) for name, value in plain),
            *_chassis(car),
            engine,
            _odometer(car),
            Fact("With the maker of this sheet since", (arrived,)),
        ),
    )


def _chassis(car: Identity) -> tuple[Fact, ...]:
    """Give the chassis number as stamped and, where it is not the same, as on the documents."""
    stamped, papers = car.chassis_stamped, car.chassis_documents
    name = "Chassis number as stamped"
    if stamped and papers and stamped != papers:
        differ = ("The two differ.",)
        return (
            Fact(name, (stamped,), differ, exact=True),
            Fact("Chassis number on the documents", (papers,), differ, exact=True),
        )
    if stamped:
        said = "The documents show the same." if papers else "The documents were not compared."
        return (Fact(name, (stamped,), (said,), exact=True),)
    missing = Fact(name, (w.NOT_RECORDED,))
    if not papers:
        return (missing,)
    return (missing, Fact("Chassis number on the documents", (papers,), exact=True))


def _odometer(car: Identity) -> Fact:
    """Give the digits shown, and beside them what is known about the distance."""
    distance = w.DISTANCE_WORDS[car.true_distance]
    if not car.odometer_shown:
        return Fact("Odometer as shown", (w.NOT_RECORDED,), (distance,))
    turns = (w.wheels(car.odometer_wheels),) if car.odometer_wheels else ()
    shown = f"{car.odometer_shown} ({w.UNIT_OF_ODOMETER[car.odometer_unit]})"
    return Fact("Odometer as shown", (shown,), (*turns, distance), exact=True)


def _panels(sheet: Sheet) -> tuple[Block, ...]:
    """Set out each panel's surface with the evidence for what is believed about it."""
    if not sheet.panels:
        return (Text((w.NO_PANELS,)),)
    rows = tuple(
        (
            Cell((row.panel,), ("Not to be touched: recorded as such.",) if row.no_touch else ()),
            Cell((row.substrate.value,)),
            Cell((row.finish.value,)),
            Cell((row.originality.value,)),
            Cell((row.evidence or "no evidence recorded",)),
        )
        for row in sheet.panels
    )
    columns = ("Panel", "Made of", "Finish", "Originality", "Evidence")
    return (
        Text((w.PANELS_INTRO,)),
        Table("Surfaces as recorded", columns, (22, 13, 15, 18, 32), rows),
    )


def _condition(sheet: Sheet) -> tuple[Block, ...]:
    """Set out the findings made on arrival, and those made later in a table of their own."""
    if not sheet.findings:
        return (Text((w.NO_FINDINGS,)),)
    arrival = [row for row in sheet.findings if row.stage is Stage.ARRIVAL]
    later = [row for row in sheet.findings if row.stage is not Stage.ARRIVAL]
    tables = (
        _findings("Found on arrival", arrival) if arrival else None,
        _findings(w.FOUND_LATER, later) if later else None,
    )
    return (Text((w.CONDITION_INTRO,)), *(table for table in tables if table))


def _findings(caption: str, rows: Iterable[FindingRow]) -> Table:
    """Set out findings as they were made."""
    columns = ("No.", "Place", "Finding", "Severity", "Extent", "Found")
    cells = tuple(
        (
            Cell((str(row.number),)),
            _place(row),
            _defect(row),
            Cell((w.severity_found(row.severity),)),
            Cell((w.extent(row.extent, row.extent_kind) or w.NOT_RECORDED,)),
            _found(row),
        )
        for row in rows
    )
    return Table(caption, columns, (5, 20, 32, 17, 12, 14), cells)


def _place(row: FindingRow) -> Cell:
    """Name the panel, its area and the spot on it."""
    area = () if row.area.value == row.panel else (row.area.value,)
    return Cell((row.panel,), (*area, *((row.spot,) if row.spot else ())))


def _defect(row: FindingRow) -> Cell:
    """Name what is wrong, on what, in the words of who saw it."""
    material = f"on {row.material}" if row.material else ""
    return Cell((row.defect,), tuple(text for text in (row.words, material) if text))


def _found(row: FindingRow) -> Cell:
    """Say when it was found, at what stage where that is not arrival, and by what light."""
    stage = () if row.stage is Stage.ARRIVAL else (w.STAGE_WORDS[row.stage],)
    lamp = (f"lamp: {row.lamp}",) if row.lamp else ()
    return Cell((w.day(row.found_on),), (*stage, *lamp, *_late(row.recorded_on)))


def _late(recorded_on: date | None) -> tuple[str, ...]:
    """Say when an entry was recorded, where that was late."""
    return (f"recorded on {w.day(recorded_on)}",) if recorded_on else ()


def _before_after(sheet: Sheet) -> tuple[Block, ...]:
    """Set every finding's severity before beside the one after, with how it ended."""
    if not sheet.findings:
        return (Text((w.NO_FINDINGS,)),)
    columns = ("No.", "Finding", "Before and after", "How it ended")
    rows = tuple(
        (Cell((str(row.number),)), Cell((f"{row.panel}: {row.defect}",)), _change(row), _end(row))
        for row in sheet.findings
    )
    table = Table("Every finding and how it ended", columns, (5, 28, 31, 36), rows)
    return (Text((w.BEFORE_AFTER_INTRO,)), table)


def _change(row: FindingRow) -> Cell:
    """Give severity before and as it stands, in words and as marks on a scale."""
    before = f"Before: {w.severity_found(row.severity)}"
    now = row.severity_now
    if row.severity is None and now is None:
        return Cell((before,))
    if row.last is None:
        return Cell((before,), scale=Scale(row.severity, None))
    after = f"After: {w.severity_at_end(now, unseen=row.unseen_at_end)}"
    return Cell((before, after), scale=Scale(row.severity, None if row.unseen_at_end else now))


def _end(row: FindingRow) -> Cell:
    """Say how a finding ended; earlier outcomes that said something else stand below."""
    if row.last is None:
        return Cell((_open(row),))
    earlier = (f"Earlier outcome, {_one_line(ending)}" for ending in reversed(row.endings[:-1]))
    head = f"{row.last.ended.value}, {w.day(row.last.ended_on)}"
    said = (text for text in (row.last.words, row.last.reason) if text)
    return Cell((head,), (*said, *_late(row.last.recorded_on), *earlier))


def _open(row: FindingRow) -> str:
    """Say what an open finding is: untouched, or worked on without a recorded result."""
    if row.not_inspected:
        return "not inspected"
    if row.worked_on:
        return "worked on, result not yet recorded"
    return "nothing to do" if row.severity == 0 else "not worked on"


def _one_line(ending: Ending) -> str:
    """Tell an earlier outcome in one line, with the severity it gave."""
    after = "" if ending.severity_after is None else f"severity {w.severity(ending.severity_after)}"
    said = (after, ending.words, ending.reason, *_late(ending.recorded_on))
    tail = "; ".join(text for text in said if text)
    head = f"{w.day(ending.ended_on)}: {ending.ended.value}"
    return f"{head} ({tail})" if tail else head


def _parts(parts: tuple[PartRow, ...]) -> tuple[Block, ...]:
    """Set out the parts that are on the vehicle, with origin and the removed part's place."""
    if not parts:
        return (Text((w.NO_PARTS,)),)
    columns = ("Part", "Origin", "Where the removed part is kept", "Fitted")
    rows = tuple(
        (
            Cell((w.part_name(row.part_name, row.quantity),), (row.panel,) if row.panel else ()),
            Cell((row.origin.value,), (w.ORIGIN_MEANING[row.origin],)),
            Cell((_kept(row),)),
            Cell((w.day(row.work_date),), _late(row.recorded_on)),
        )
        for row in parts
    )
    return (Table("Parts on the vehicle", columns, (28, 28, 28, 16), rows),)


def _kept(part: PartRow) -> str:
    """Say where the removed part is; for the vehicle's own part none was taken off."""
    retained = part.origin is Origin.ORIGINAL_RETAINED
    return part.removed_part_kept or (w.NOTHING_TAKEN_OFF if retained else w.NOT_RECORDED)


def _left_alone(sheet: Sheet) -> tuple[Block, ...]:
    """Give what was left as it is, with the reason."""
    rows = tuple(
        (
            Cell((str(row.number),)),
            _place(row),
            Cell((row.defect,), (f"Severity: {w.severity(row.severity_now)}",)),
            Cell((row.last.reason or w.NOT_RECORDED,), (row.last.words,) if row.last.words else ()),
            Cell((w.day(row.last.ended_on),), _late(row.last.recorded_on)),
        )
        for row in sheet.findings
        if row.left_alone and row.last
    )
    if not rows:
        return (Text((w.NO_LEFT_ALONE,)),)
    columns = ("No.", "Place", "Finding", "Why it was left", "Decided")
    table = Table("Left alone, and why", columns, (5, 20, 24, 36, 15), rows)
    return (Text((w.LEFT_ALONE_INTRO,)), table)


def _remaining(sheet: Sheet) -> tuple[Block, ...]:
    """List the faults known to remain, as fully as the repairs."""
    rows = tuple(
        (
            Cell((str(row.number),)),
            _place(row),
            _defect(row),
            Cell((w.severity(row.severity_now),), (w.AS_FOUND,) if row.unseen_at_end else ()),
            _standing(row),
        )
        for row in sheet.findings
        if row.remains
    )
    if not rows:
        return (Text((w.NO_REMAINING,)),)
    columns = ("No.", "Place", "Fault", "Severity now", "Standing")
    table = Table("Faults known to remain", columns, (5, 22, 35, 20, 18), rows)
    return (Text((w.REMAINING_INTRO,)), table)


def _standing(row: FindingRow) -> Cell:
    """Say how a remaining fault stands; of one nobody looked at again, that and why."""
    if row.last is None:
        return Cell((_open(row),))
    if row.unseen_at_end:
        return Cell((w.UNSEEN_AT_END,), (row.last.reason,) if row.last.reason else ())
    return Cell((row.last.ended.value,))


def _not_inspected(sheet: Sheet) -> tuple[Block, ...]:
    """List what nobody looked at, which is not the same as no fault found."""
    rows = tuple(
        (
            Cell((str(row.number),)),
            _place(row),
            _defect(row),
            Cell(((row.last and row.last.reason) or "no reason recorded",)),
        )
        for row in sheet.findings
        if row.not_inspected
    )
    if not rows:
        return (Text((w.NO_NOT_INSPECTED,)),)
    columns = ("No.", "Place", "Question", "Why not")
    table = Table("Not inspected", columns, (5, 25, 35, 35), rows)
    return (Text((w.NOT_INSPECTED_INTRO,)), table)


def _words_used() -> Facts:
    """Say what the words of the sheet mean."""
    scale = "; ".join(f"{level} {words}" for level, words in enumerate(SEVERITY_WORDS))
    meanings = (
        *((ended.value, text) for ended, text in w.ENDED_MEANING.items()),
        *((origin.value, text) for origin, text in w.ORIGIN_MEANING.items()),
        *w.MORE_MEANINGS.items(),
    )
    return Facts((Fact("severity", (scale,)), *(Fact(name, (text,)) for name, text in meanings)))


def _made(sheet: Sheet) -> tuple[Block, ...]:
    """Say what the sheet was made from, with the hash that ties it to the records."""
    if sheet.anchor is None:
        return (Text((w.NOT_ANCHORED,)),)
    count = Fact("Records", (str(sheet.anchor.count),))
    last = Fact("Hash of the last one", (sheet.anchor.hash,), exact=True)
    return (Text(w.ANCHORED), Facts((count, last)))
