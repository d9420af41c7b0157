"""What is known of one vehicle's surfaces and what was done to them, for judging more work.

Film is held against headroom, products against surfaces, work against the order of work.
Nothing here reads a book: records are noted one after another, oldest first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from recondition.amounts.units import UNITS
from recondition.condition.bodies import Body
from recondition.condition.cautions import Caution, Stopped, Task, cautions, reminds, says_any
from recondition.condition.chemistry import Nature, Surface, nature
from recondition.condition.film import (
    FilmReading,
    Headroom,
    Instrument,
    NoHeadroom,
    Placed,
    Taken,
    headroom,
    um,
)
from recondition.condition.findings import Finding
from recondition.condition.gloss import GlossReading
from recondition.condition.identification import SurfaceTest
from recondition.condition.order import (
    CUTS,
    END_OF_DAY,
    Broken,
    Event,
    EventLog,
    RuleKind,
    Scope,
    WorkRule,
    broken,
)
from recondition.condition.panels import Panel, same_panel
from recondition.condition.water import DropReading
from recondition.errors import Refused
from recondition.fields import Id, Words
from recondition.ledger.documents import Document, DocumentKind
from recondition.ledger.lines import Consumable, Labour, LineEntry, Part, PartState, Sublet, Use
from recondition.materials.products import Product

_COUNTED = ("count", "sets", "uses")
_RINSED = ("rinse", "wash", "neutralis")
_RINSE = "a rinse between"
SURFACE_READ = "surface read"
"""What a part that was fitted with its surface read says of itself."""


def nature_of(name: str, product: Product) -> Nature:
    """Read a product's nature from its data sheet; ``name`` is the shop's own for it.

    Pads, discs and cloths, which are counted, have no sheet to be read.
    """
    found = nature(
        name,
        product.ph,
        product.ph_to,
        product.material_type,
        product.hazards,
        product.ingredients,
    )
    counted = UNITS[product.unit].dimension in _COUNTED
    return replace(found, known=True) if counted and not found.known else found


@dataclass(frozen=True, slots=True)
class Used:
    """A product on a panel: its nature, where, when, in which order."""

    nature: Nature
    panel: str | None
    on: date
    order: int


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a piece of work meets: what stops it, what is told, what to remember."""

    stops: tuple[Refused, ...] = ()
    told: tuple[str, ...] = ()
    reminders: tuple[str, ...] = ()


def task_of(
    entry: LineEntry,
    product: Product | None,
    name: str = "",
    surfaces: tuple[Surface, ...] = (),
) -> Task:
    """Describe a line as a task; ``name`` is the shop's own for its product."""
    part = f" {entry.part_name}" if isinstance(entry, Part) else ""
    return Task(
        operation=entry.operation or "",
        words=entry.words + part,
        panel=entry.panel,
        surfaces=surfaces,
        product=nature_of(name, product) if product else None,
        allowed_because=(product.allowed_because or "") if product else "",
        in_house=not isinstance(entry, Sublet),
    )


def concerns(entry: LineEntry, rules: Mapping[str, WorkRule], product: Product | None) -> bool:
    """Tell whether a vehicle's job sheet could have anything to say about a line.

    Most lines are of no concern to film, surface or order, and need no look at it.
    """
    if not isinstance(entry, Labour | Part | Consumable):
        return False
    task = task_of(entry, product)
    if getattr(entry, "film_removal", None) is not None or reminds(task):
        return True
    if entry.candidate is not None and says_any(task.text, CUTS):
        return True
    return any(
        says_any(task.whole_text if rule.stops else task.text, rule.task) for rule in rules.values()
    )


@dataclass(slots=True, kw_only=True)
class JobSheet:
    """One vehicle's panels, readings and work. ``floor_um`` holds where no panel says more.

    ``candidates`` and ``products`` are by id, ``names`` the user's name of a product.
    """

    body: Body
    floor_um: Decimal | None
    rules: Mapping[str, WorkRule]
    instruments: Mapping[str, Instrument]
    candidates: Mapping[str, Any]
    products: Mapping[str, Product]
    names: Mapping[str, str]
    panels: dict[str, Panel] = field(default_factory=dict)
    materials: list[tuple[str, str]] = field(default_factory=list)
    sets: dict[str, list[Placed]] = field(default_factory=dict)
    taken: dict[str, list[Taken]] = field(default_factory=dict)
    by_candidate: dict[tuple[str, str], Decimal] = field(default_factory=dict)
    events: list[Event] = field(default_factory=list)
    used: dict[date, list[Used]] = field(default_factory=dict)
    log: EventLog = field(init=False)

    def __post_init__(self) -> None:
        """Begin the log of what the rules ask for."""
        rinsed = WorkRule(
            task=(), kind=RuleKind.NEEDS, other=_RINSED, why=Words("rinse"), scope=Scope.PANEL
        )
        self.log = EventLog({**self.rules, _RINSE: rinsed})

    def note(self, ref: str, entry: Any, order: int) -> None:  # noqa: ANN401 - any entry
        """Take a record into account; ``order`` rises with each."""
        match entry:
            case Panel():
                self.panels[entry.panel] = entry
            case Finding() if entry.material:
                self.materials.append((entry.panel, entry.material.casefold()))
            case FilmReading():
                placed = Placed(
                    entry, um(self.instruments[entry.instrument].uncertainty), order, ref
                )
                self.sets.setdefault(entry.panel, []).append(placed)
                self._happened("measure film", entry.panel, entry.read_on, order, ref)
            case GlossReading() | DropReading():
                text = "measure gloss" if isinstance(entry, GlossReading) else "read the water"
                self._happened(text, entry.panel, entry.read_on, order, ref)
            case SurfaceTest():
                text = f"{entry.test.value} {entry.answer}"
                self._happened(text, entry.panel, entry.tested_on, order, ref)
            case Document() if entry.kind is DocumentKind.PHOTOGRAPH and entry.moment:
                text = f"photograph {entry.title}"
                self._happened(text, entry.panel, entry.moment.date(), order, ref)
            case LineEntry():
                self._note_line(ref, entry, order)

    def _happened(  # noqa: PLR0913, PLR0917 - one argument a part of an event
        self, text: str, panel: str | None, on: date, order: int, ref: str, at: str | None = None
    ) -> None:
        event = Event(text.casefold(), panel, on, order, ref, at)
        self.events.append(event)
        self.log.add(event)

    def _note_line(self, ref: str, entry: LineEntry, order: int) -> None:
        """Take a posted line into account."""
        if isinstance(entry, Consumable):
            product = self.products.get(entry.product)
            if product is not None and entry.use is not Use.WASTED:
                found = nature_of(self.names[entry.product], product)
                used = Used(found, entry.panel, entry.work_date, order)
                self.used.setdefault(entry.work_date, []).append(used)
            return
        if isinstance(entry, Labour | Part | Sublet):
            text = self.task_of(entry).text
            began = getattr(entry, "started_at", None)
            self._happened(text, entry.panel, entry.work_date, order, ref, began)
        for panel, amount in self.takes(entry).items():
            self.taken.setdefault(panel, []).append(Taken(entry.work_date, order, amount))
            if entry.candidate:
                key = (entry.candidate, panel)
                self.by_candidate[key] = self.by_candidate.get(key, Decimal(0)) + amount

    def takes(self, entry: LineEntry) -> dict[str, Decimal]:
        """Give the film that a line is expected to take, by panel, in micrometres.

        What it says itself; else, for work that cuts, what its candidate is expected to take
        and earlier lines of it have not.
        """
        if not isinstance(entry, Labour):
            return {}
        candidate = self.candidates.get(entry.candidate or "")
        named = (entry.panel,) if entry.panel else getattr(candidate, "panels", ())
        panels = [each for name in named for each in self.body.members(name)]
        if entry.film_removal is not None:
            return dict.fromkeys(panels, um(entry.film_removal))
        expected = getattr(candidate, "film_removal", None)
        if candidate is None or expected is None or not says_any(self.task_of(entry).text, CUTS):
            return {}
        planned = {each for name in candidate.panels for each in self.body.members(name)}
        left = {
            panel: um(expected) - self.by_candidate.get((str(entry.candidate), panel), Decimal(0))
            for panel in panels
            if panel in planned
        }
        return {panel: amount for panel, amount in left.items() if amount > 0}

    def room(self, panel: str, before: Taken | None = None) -> Headroom | None:
        """Give a panel's headroom, now or before some work; None where nobody knows."""
        sets, taken = self.sets.get(panel, []), self.taken.get(panel, [])
        if before is not None:
            sets = [each for each in sets if each.precedes(before)]
            taken = [each for each in taken if each.on <= before.on]
        return headroom(panel, sets, taken, self._floor(panel))

    def _floor(self, panel: str) -> Decimal | None:
        """Give the film that must stay on a panel: its own, else the vehicle's or the book's."""
        own = self.panels.get(panel)
        if own is not None and own.film_floor is not None:
            return um(own.film_floor)
        return self.floor_um

    def surfaces(self, panel: str | None) -> tuple[Surface, ...]:
        """Give what is on record of a panel's surface, or of those that a name takes together."""
        if panel is None:
            return ()
        found = []
        for name in dict.fromkeys((panel, *self.body.members(panel))):
            known = self.panels.get(name)
            said = " ".join(words for where, words in self.materials if same_panel(where, name))
            if known is not None or said:
                known = known or Panel(vehicle=Id(""), panel=name)
                found.append(Surface(name, known.substrate, known.finish, said))
        return tuple(found)

    def task_of(self, entry: LineEntry) -> Task:
        """Describe a line as a task on this vehicle."""
        product_id = getattr(entry, "product", None)
        name = self.names.get(product_id, "") if product_id else ""
        found = self.products.get(product_id) if product_id else None
        return task_of(entry, found, name, self.surfaces(entry.panel))

    def judge(self, entry: LineEntry, order: int) -> Verdict:
        """Judge a line that is to be posted now."""
        if getattr(entry, "use", None) is Use.WASTED:
            return Verdict()
        if isinstance(entry, Part) and entry.part_state is PartState.SPOILED:
            return Verdict()
        task = self.task_of(entry)
        stops: list[Refused] = []
        told: list[str] = []
        for panel, amount in self.takes(entry).items():
            room = self.room(panel, Taken(entry.work_date, order, amount))
            if room is None:
                told.append(self.unknown_room(panel))
            elif not room.allows(amount):
                stops.append(NoHeadroom(amount, room))
        found = cautions(task)
        mixed = self._mixed(entry, task)
        if mixed is not None:
            found.insert(0, mixed)
        breaks = self.breaks(entry, task) if isinstance(entry, Labour | Part) else []
        stops += [Stopped(each) for each in found if each.stops]
        stops += [_as_stop(each) for each in breaks if each.rule.stops]
        told += [each.said() for each in breaks if not each.rule.stops]
        if entry.override and stops:
            told += [f"overridden ({entry.override}): {each.what}" for each in stops]
            stops = []
        reminders = tuple(each.said() for each in found if not each.stops)
        return Verdict(tuple(stops), tuple(told), reminders)

    def judge_photograph(self, entry: Document) -> Verdict:
        """Tell of a photograph that comes too late, such as one of the arrival after the wash.

        Work of the same day counts where both moments are known.
        """
        taken = entry.moment
        if taken is None:
            return Verdict()
        task = Task(operation=f"photograph {entry.title}", panel=entry.panel)
        found = [
            each
            for each in broken(self.log, task, taken.date())
            if each.by is None or each.by.on < taken.date() or _began_before(each.by, taken)
        ]
        wanted = [each for each in found if each.rule.kind is RuleKind.NEVER_AFTER]
        return Verdict(told=tuple(each.said() for each in wanted))

    def unknown_room(self, panel: str) -> str:
        """Say why a panel's headroom is not known."""
        missing = "no floor is set" if self._floor(panel) is None else "no readings before it"
        return f"the headroom of the {panel} is not known: {missing}."

    def breaks(
        self, entry: LineEntry, task: Task, until: tuple[date, int] | None = None
    ) -> list[Broken]:
        """List the rules of the order of work that a line breaks, given what went before it.

        Everything up to its day went before, or what is older than ``until``.
        """
        found = broken(self.log, task, entry.work_date, until)
        if isinstance(entry, Part) and entry.window and entry.window.surface is not None:
            return [each for each in found if SURFACE_READ not in each.rule.other]
        return found

    def _mixed(self, entry: LineEntry, task: Task) -> Caution | None:
        """Stop an acid after an alkaline product on one panel, or the reverse, without a rinse."""
        product = task.product
        if product is None or product.acid == product.alkaline:
            return None
        wanted = (product.alkaline, product.acid)
        last = next(
            (
                used
                for used in reversed(self.used.get(entry.work_date, []))
                if same_panel(used.panel, entry.panel)
                and (used.nature.acid, used.nature.alkaline) == wanted
            ),
            None,
        )
        if last is None:
            return None
        end = (entry.work_date, END_OF_DAY)
        rinse = self.log.last(_RINSED, entry.panel, Scope.PANEL, end)
        if rinse is not None and (rinse.on, rinse.order) > (last.on, last.order):
            return None
        kinds = ("acid", "alkaline") if product.acid else ("alkaline", "acid")
        return Caution(
            f"{kinds[0]} after {kinds[1]}",
            f"{product.name} meets {last.nature.name} with no rinse on record between: heat, gas "
            "and stains.",
            stops=True,
        )


def _began_before(event: Event, moment: datetime) -> bool:
    """Tell whether an event is known to have begun before a moment."""
    return event.at is not None and datetime.fromisoformat(event.at) < moment


def _as_stop(found: Broken) -> Refused:
    """Turn a broken rule that stops work into the refusal that says so."""
    return Stopped(Caution(found.name, found.said().partition(": ")[2], stops=True))
