"""A work history as a PROV-JSON document: what was there, what was done to it, and by whom.

Terms are those of PROV-DM (W3C Recommendation, 30 April 2013) in the JSON of the PROV-JSON
submission (W3C, 24 April 2013); our own stand under the prefix ``rec``. Each piece of work is an
activity that turns the vehicle into a revision of itself. Nothing enters but what the sheet
holds: whoever it does not name appears as a role.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from recondition.condition.findings import SEVERITY_WORDS, Ended, Stage
from recondition.history import phrases as ph
from recondition.history import wording as w

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date

    from recondition.amounts import Quantity
    from recondition.history.sheet import EditionRow, FindingRow, Identity, Sheet
    from recondition.history.work import PartRow, WorkRow

NAMESPACE = "urn:recondition:work-history:2#"

SHOP, OTHER_SHOP, SHEET = "rec:shop", "rec:other-shop", "rec:sheet"
_NOT_INSPECTED = Ended.NOT_INSPECTED.value

Attributes = dict[str, Any]
Relation = tuple[str, Attributes]


def provenance(sheet: Sheet) -> dict[str, Any]:
    """Give a work history as a PROV-JSON document; every value is text.

    Agents are the shop, other shops and people; entities the vehicle as it arrived and after
    each piece of work, parts, findings, earlier editions and the sheet; activities the work.
    """
    return {
        "prefix": {"rec": NAMESPACE},
        "agent": _agents(sheet),
        "entity": _entities(sheet),
        "activity": {_work(n): _activity(row) for n, row in _numbered(sheet.work)},
        **_by_kind(_relations(sheet)),
    }


def _numbered(rows: Iterable[Any]) -> Iterator[tuple[int, Any]]:
    return enumerate(rows, start=1)


def _work(number: int) -> str:
    return f"rec:work-{number}"


def _vehicle(works: int) -> str:
    """Name the vehicle as it is after so many pieces of work."""
    return f"rec:vehicle-{works}"


def _name(term: str) -> dict[str, str]:
    """Write a term as a qualified name, as PROV-JSON tells it from a plain text."""
    return {"$": term, "type": "xsd:QName"}


def _said(**values: object) -> Attributes:
    """Make attributes of our own of what is there; a list of several stays a list."""
    return {f"rec:{key.replace('_', '-')}": value for key, value in values.items() if value}


def _thing(kind: str, label: str, **values: object) -> Attributes:
    """Make an entity, activity or agent of a kind, with its label and what is known of it."""
    return {"prov:type": _name(kind), "prov:label": label, **_said(**values)}


def _day(when: date | None) -> str | None:
    return when.isoformat() if when else None


def _amount(quantity: Quantity) -> str:
    return f"{quantity.number_text} {quantity.unit}"


def _each_once(texts: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(texts))


def _firms(sheet: Sheet) -> dict[str, str]:
    """Name the other shops that the sheet names as having worked on the vehicle."""
    firms = _each_once(firm for row in sheet.work if row.outside for firm in row.firms)
    return {firm: f"rec:firm-{number}" for number, firm in _numbered(firms)}


def _people(sheet: Sheet) -> dict[str, str]:
    """Name the shop's people that the sheet names."""
    people = _each_once(person for row in sheet.work for person in row.people)
    return {person: f"rec:person-{number}" for number, person in _numbered(people)}


def _agents(sheet: Sheet) -> dict[str, Attributes]:
    """Give who had a hand in it: by name where the sheet gives one, else as a role."""
    firm, person = "prov:Organization", "prov:Person"
    agents = {SHOP: _thing(firm, sheet.shop_name or w.UNNAMED_SHOP)}
    if any(row.outside and not row.firms for row in sheet.work):
        agents[OTHER_SHOP] = _thing(firm, w.ANOTHER_SHOP)
    agents |= {each: _thing(firm, name) for name, each in _firms(sheet).items()}
    return agents | {each: _thing(person, name) for name, each in _people(sheet).items()}


def _entities(sheet: Sheet) -> dict[str, Attributes]:
    """Give what there is: the vehicle in each of its states, parts, findings and the sheet."""
    car = sheet.identity
    states = {_vehicle(n): _state(car, row) for n, row in _numbered(sheet.work)}
    return {
        _vehicle(0): _arrived(car),
        **states,
        **{name: _part(part) for name, _, part in _parts(sheet)},
        **{_finding_name(row.number): _finding(row) for row in sheet.findings},
        **{_edition_name(row): _edition(row) for row in sheet.editions},
        SHEET: _thing(
            "rec:WorkHistory",
            f"{w.TITLE}: {car.designation}",
            made_on=_day(sheet.made_on),
        ),
    }


def _arrived(car: Identity) -> Attributes:
    """Give the vehicle as it arrived, its numbers as they were read."""
    return _thing(
        "rec:Vehicle",
        f"{car.designation}, {ph.AS_IT_ARRIVED}",
        chassis_number_as_stamped=car.chassis_stamped,
        chassis_number_on_documents=car.chassis_documents,
        engine_number=car.engine_number,
        odometer_as_shown=car.odometer_shown,
        arrived_on=_day(car.arrived_on),
    )


def _state(car: Identity, row: WorkRow) -> Attributes:
    """Give the vehicle as a piece of work left it."""
    return _thing("rec:Vehicle", f"{car.designation}, {row.work_date.isoformat()}: {_what(row)}")


def _what(row: WorkRow) -> str:
    """Say what a piece of work was: where, and by what method or in what words."""
    place = ", ".join(row.panels) or w.WHOLE_VEHICLE
    return ": ".join(text for text in (place, ", ".join(row.operations or row.steps)) if text)


def _activity(row: WorkRow) -> Attributes:
    """Give a piece of work; only its day is known, so it lies within that day."""
    day = row.work_date.isoformat()
    return {
        **_thing(
            "rec:Work",
            _what(row),
            place=list(row.panels),
            method=list(row.operations),
            words=list(row.steps),
            material_type=_each_once(material.material_type for material in row.materials),
            spoiled=[words for words in row.spoiled if words],
            recorded_on=_day(row.recorded_on),
        ),
        "prov:startTime": f"{day}T00:00:00",
        "prov:endTime": f"{day}T23:59:59",
    }


def _parts(sheet: Sheet) -> Iterator[tuple[str, int, PartRow]]:
    """Name each part that was fitted, with the number of the work that fitted it."""
    fitted = [(number, part) for number, row in _numbered(sheet.work) for part in row.parts]
    for count, (number, part) in _numbered(fitted):
        yield f"rec:part-{count}", number, part


def _part(part: PartRow) -> Attributes:
    """Give a part with what it is and where the one it took the place of is."""
    return _thing(
        "rec:Part",
        part.part_name,
        quantity=_amount(part.quantity),
        origin=part.origin.value,
        removed_part_kept=part.removed_part_kept,
    )


def _finding_name(number: int) -> str:
    return f"rec:finding-{number}"


def _finding(row: FindingRow) -> Attributes:
    """Give a finding and how it ended."""
    last = row.last
    return _thing(
        "rec:Finding",
        f"{row.number}. {row.panel}: {row.defect}",
        found_on=_day(row.found_on),
        recorded_on=_day(row.recorded_on),
        stage=row.stage.value,
        severity=_NOT_INSPECTED if row.severity is None else SEVERITY_WORDS[row.severity],
        words=row.words,
        ended=last.ended.value if last else None,
        ended_on=_day(last.ended_on) if last else None,
        reason=last.reason if last else None,
    )


def _edition_name(row: EditionRow) -> str:
    return f"rec:edition-{row.number}"


def _edition(row: EditionRow) -> Attributes:
    """Give an edition that went out before, and that it was withdrawn."""
    return _thing(
        "rec:WorkHistory",
        f"{w.TITLE}: {row.number}",
        made_on=_day(row.made_on),
        code=row.code,
        withdrawn_on=_day(row.withdrawn_on),
    )


def _relations(sheet: Sheet) -> Iterator[Relation]:
    """Give what binds all of it together."""
    for number, row in _numbered(sheet.work):
        yield from _work_relations(number, row)
        for agent in _hands(sheet, row):
            yield (
                "wasAssociatedWith",
                {"prov:activity": _work(number), "prov:agent": agent},
            )
    for name, number, _ in _parts(sheet):
        yield _used(number, name)
        yield _derived(_vehicle(number), name, {"prov:activity": _work(number)})
    for person in _people(sheet).values():
        yield "actedOnBehalfOf", {"prov:delegate": person, "prov:responsible": SHOP}
    for row in sheet.findings:
        yield from _finding_relations(row)
    yield from _sheet_relations(sheet)


def _work_relations(number: int, row: WorkRow) -> Iterator[Relation]:
    """Bind a piece of work to the vehicle before and after it, and to what it was done for."""
    work, before, after = _work(number), _vehicle(number - 1), _vehicle(number)
    yield _used(number, before)
    for finding in row.findings:
        yield _used(number, _finding_name(finding))
    yield "wasGeneratedBy", {"prov:entity": after, "prov:activity": work}
    yield _derived(after, before, {"prov:activity": work, **_revision()})


def _finding_relations(row: FindingRow) -> Iterator[Relation]:
    """Bind a finding to the shop, and one of arrival to the vehicle as it arrived."""
    name = _finding_name(row.number)
    yield _attributed(name)
    if row.stage is Stage.ARRIVAL:
        yield _derived(name, _vehicle(0), {})


def _sheet_relations(sheet: Sheet) -> Iterator[Relation]:
    """Bind the sheet to the vehicle, the findings, the shop and the edition before it."""
    yield _attributed(SHEET)
    yield _derived(SHEET, _vehicle(len(sheet.work)), {})
    for row in sheet.findings:
        yield _derived(SHEET, _finding_name(row.number), {})
    earlier = [_edition_name(row) for row in sheet.editions]
    for older, newer in pairwise([*earlier, SHEET]):
        yield _derived(newer, older, _revision())


def _hands(sheet: Sheet, row: WorkRow) -> list[str]:
    """Name who did a piece of work; firms named beside the shop's own work only supplied."""
    if row.outside:
        return [_firms(sheet)[firm] for firm in row.firms] or [OTHER_SHOP]
    return [SHOP, *(_people(sheet)[person] for person in row.people)]


def _used(number: int, entity: str) -> Relation:
    return "used", {"prov:activity": _work(number), "prov:entity": entity}


def _attributed(entity: str) -> Relation:
    return "wasAttributedTo", {"prov:entity": entity, "prov:agent": SHOP}


def _revision() -> Attributes:
    return {"prov:type": _name("prov:Revision")}


def _derived(made: str, source: str, more: Attributes) -> Relation:
    return "wasDerivedFrom", {"prov:generatedEntity": made, "prov:usedEntity": source, **more}


def _by_kind(relations: Iterable[Relation]) -> dict[str, dict[str, Attributes]]:
    """Put relations together by kind, each under a number that means nothing outside."""
    found: defaultdict[str, dict[str, Attributes]] = defaultdict(dict)
    for kind, said in relations:
        found[kind][f"_:{kind}-{len(found[kind]) + 1}"] = said
    return dict(found)
