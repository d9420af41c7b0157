"""The order of work: what must come before what, as rules that the user can read and extend.

The rules below are the trade's (common practice, no source). A book may add its own, and put
its own or none in the place of one of these (sheet ``work rules``).
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from recondition.condition.cautions import Task, says, says_any
from recondition.condition.panels import same_panel
from recondition.fields import Words


class RuleKind(StrEnum):
    """What a rule asks of the task that it is about."""

    NEEDS = "needs before it"
    NEVER_AFTER = "never after"
    NEXT_DAY = "not on the same day after"


class Scope(StrEnum):
    """Where the other work must have been."""

    PANEL = "same panel"
    VEHICLE = "whole vehicle"


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkRule:
    """One rule about a task that says one of ``task`` (and none of ``unless``).

    ``other`` is the work that it needs before it, or must not come after. With ``since`` the
    other work counts only after the last of that; ``only_after`` lets the rule hold only where
    there was such. A phrase ``a+b`` wants both words; each word may be the start of a longer
    one. A rule that ``stops`` blocks a posting until overridden; any other is told. ``off``
    takes the rule of this name away.
    """

    task: tuple[str, ...]
    kind: RuleKind
    other: tuple[str, ...]
    why: Words
    scope: Scope = Scope.VEHICLE
    since: tuple[str, ...] = ()
    only_after: bool = False
    unless: tuple[str, ...] = ()
    stops: bool = False
    off: bool = False


@dataclass(frozen=True, slots=True)
class Event:
    """Something that was done or recorded: what it says, where, when, in which order.

    ``at`` is the moment it began (ISO 8601 with zone) where that is known.
    """

    text: str
    panel: str | None
    on: date
    order: int
    ref: str
    at: str | None = None


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule that a task breaks, by the rule's name, and what broke it."""

    name: str
    rule: WorkRule
    by: Event | None

    def said(self) -> str:
        """Say it in one sentence."""
        if self.rule.kind is RuleKind.NEEDS:
            wanted = " or ".join(self.rule.other[:2])
            return f"{self.name}: nothing on record says {wanted!r} before it; {self.rule.why}."
        after = "on the same day after" if self.rule.kind is RuleKind.NEXT_DAY else "after"
        ref = self.by.ref if self.by else ""
        return f"{self.name}: it comes {after} {ref}; {self.rule.why}."


Moment = tuple[date, int]
END_OF_DAY = 2**62
"""The order of an event after everything that is recorded."""
EVERYTHING: Moment = (date.max, END_OF_DAY)
"""The moment of work that is still to come: all that is on record went before it."""


def _rule(  # noqa: PLR0913, PLR0917 - one argument a column of the table below
    name: str,
    task: str,
    kind: RuleKind,
    other: str,
    why: str,
    scope: Scope = Scope.VEHICLE,
    since: str = "",
    unless: str = "",
    *,
    only_after: bool = False,
    stops: bool = False,
) -> tuple[str, WorkRule]:
    """Read one row; phrases are parted by commas."""
    return name, WorkRule(
        task=_phrases(task),
        kind=kind,
        other=_phrases(other),
        why=Words(why),
        scope=scope,
        since=_phrases(since),
        unless=_phrases(unless),
        only_after=only_after,
        stops=stops,
    )


def _phrases(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",") if part.strip())


_N, _A, _D = RuleKind.NEEDS, RuleKind.NEVER_AFTER, RuleKind.NEXT_DAY
_P = Scope.PANEL
CUTS = ("polish", "sand", "compound", "correct")
"""Words of work that takes film off."""
_CUT = ", ".join(CUTS)
_FIT = "decal, lay+stripe, stripe+laid"
_OFF = "off, remov, residue, kept"

RULES: Mapping[str, WorkRule] = dict(
    (
        _rule("photographs before the wash", "wash, rinse", _N, "photograph, intake",
              "the arrival condition cannot be proved afterwards", unless="hand"),
        _rule("arrival photographs after the wash", "photograph+arrival, photograph+intake", _A,
              "wash, contact wash", "they no longer show how the car came"),
        _rule("fragile places before water", "wash, rinse, steam", _N,
              "fragile, pre-wash, intake", "what flakes or lifts is lost for good",
              unless="hand"),
        _rule("wash before decontamination", "decontaminate, clay, iron, tar", _N, "wash",
              "grit scratches"),
        _rule("iron and tar before clay", "clay", _N, "decontaminate, iron, tar",
              "the clay drags what they would have dissolved", unless="iron, tar, decontaminate"),
        _rule("wash before measuring", "measure", _N, "wash", "dirt falsifies readings"),
        _rule("readings before abrasives", _CUT, _N, "measure", "nobody knows how thin it is",
              _P, unless="metal polish, glass, test panel, exhaust"),
        _rule("test panel before correction", "correct, compound, polish", _N, "test panel",
              "the least that works is not known", unless="test panel, metal, glass, hand"),
        _rule("lead swab before dry sanding", "sand", _N, "lead swab negative",
              "old paint and primer may hold lead", _P, unless="wet", stops=True),
        _rule("cure before polishing new paint", "polish, compound, coat", _N, "cure, released",
              "fresh paint is soft and still gives off solvent", _P, "repaint, respray, blend",
              only_after=True),
        _rule("polish before coating", "coat", _N, "polish", "a coating seals the faults in", _P,
              unless="wheel, trim, glass, strip, recoat"),
        _rule("wipe-down before coating", "coat", _N, "wipe-down, wipe down, panel wipe",
              "oils keep the coating from bonding and hide scratches", _P, "polish, compound",
              "strip"),
        _rule("residue off before the new decal", _FIT, _N, "residue",
              "the film does not hold on old glue", _P, "decal+off, stripe+off, decal+remov",
              _OFF, only_after=True),
        _rule("never a decal on a coating", _FIT, _A, "coat",
              "the film does not hold on a coating", _P, unless=_OFF),
        _rule("decal on a cooled panel", _FIT, _N, "cool, surface read",
              "the adhesive fails on hot metal", _P, "heat, hot air", _OFF, only_after=True),
        _rule("no heat after solvent", "heat, hot air, steam", _D,
              "solvent, wipe-down, wipe down, panel wipe, residue", "its vapour can catch fire",
              _P),
        _rule("dusty work first", "sand, wool, compound", _A,
              "interior+clean, seat+clean, carpet+clean, glass+clean, clean+glass, "
              "clean+seat, clean+carpet", "the dust lies everywhere again"),
        _rule("headlining first", "clean+headlining", _A, "clean+dash, clean+seat, clean+carpet",
              "drips run down"),
        _rule("dash before seats and carpets", "clean+dash", _A, "clean+seat, clean+carpet",
              "drips run down"),
        _rule("seats before carpets", "clean+seat", _A, "clean+carpet", "drips run down"),
        _rule("leather: dye before feeding", "dye, recolour", _A, "feed",
              "dye does not hold on fat", _P),
        _rule("leather: repair before dyeing", "fill, repair+leather", _A, "dye, recolour",
              "the repair shows", _P),
        _rule("wheels off once", "wheels off", _A, "wheels off", "one lift for all that needs it"),
        _rule("engine bay before the final wipe", "clean+engine, clean+bulkhead", _A,
              "wipe-down, wipe down, panel wipe", "the cleaner's mist lies on the paint"),
        _rule("tyres last", "clean+glass, glass+clean", _A, "tyre+dress, dress+tyre",
              "sling and fingerprints"),
        _rule("a coating is left overnight", "polish, wash, wipe, decal, coat", _D,
              "coat", "it cures without being touched", _P, unless="wheel"),
        _rule("quality check next morning", "quality check", _D, "polish, coat",
              "oils and flash hide marks on the day"),
        _rule("photographs after the quality check", "photograph", _N, "quality check",
              "the listing would show what the check finds", since="polish, coat",
              unless="test, arrival, intake, before", only_after=True),
    )
)  # fmt: skip
"""The trade's own rules by name."""


def in_force(own: Mapping[str, WorkRule]) -> dict[str, WorkRule]:
    """Give the rules that hold: the trade's, with a book's own in the place of their names."""
    together = {**RULES, **own}
    return {name: rule for name, rule in together.items() if not rule.off}


class EventLog:
    """What happened to one vehicle, found by the phrases that each event says.

    ``add`` keeps every list by day and order, so that judging a task does not read them all.
    """

    def __init__(self, rules: Mapping[str, WorkRule], events: Iterable[Event] = ()) -> None:
        """Look for the phrases of these rules."""
        self.rules = rules
        phrases = (phrase for rule in rules.values() for phrase in (*rule.other, *rule.since))
        self._said: dict[str, list[Event]] = {phrase: [] for phrase in phrases}
        self._phrases = tuple(self._said)
        for event in events:
            self.add(event)

    def add(self, event: Event) -> None:
        """Note an event."""
        if not says_any(event.text, self._phrases):
            return
        for phrase, found in self._said.items():
            if says(event.text, phrase):
                insort(found, event, key=_moment)

    def last(
        self, phrases: Sequence[str], panel: str | None, scope: Scope, until: Moment
    ) -> Event | None:
        """Give the last event before a moment that says one of some phrases, where it counts."""
        found = [
            event
            for phrase in phrases
            if (event := _newest(self._said[phrase], panel, scope, until)) is not None
        ]
        return max(found, key=_moment, default=None)


def _moment(event: Event) -> Moment:
    return event.on, event.order


def _newest(found: list[Event], panel: str | None, scope: Scope, until: Moment) -> Event | None:
    """Give the newest event of a list before a moment, on a panel where that matters."""
    for at in range(bisect_left(found, until, key=_moment) - 1, -1, -1):
        if scope is Scope.VEHICLE or same_panel(panel, found[at].panel):
            return found[at]
    return None


def broken(log: EventLog, task: Task, on: date, until: Moment | None = None) -> list[Broken]:
    """List the rules that a task on a day breaks, given what went before it.

    What the log holds up to the end of that day went before, or up to the moment ``until``.
    """
    moment = until or (on, END_OF_DAY)
    found = []
    for name, rule in log.rules.items():
        text = task.whole_text if rule.stops else task.text
        if not says_any(text, rule.task) or says_any(task.whole_text, rule.unless):
            continue
        breaks, by = _breaks(rule, log, task, on, moment)
        if breaks:
            found.append(Broken(name, rule, by))
    return found


def _breaks(
    rule: WorkRule, log: EventLog, task: Task, on: date, until: Moment
) -> tuple[bool, Event | None]:
    """Tell whether a rule is broken, and by which event where it is by one."""
    met = log.last(rule.other, task.panel, rule.scope, until)
    if rule.kind is RuleKind.NEEDS:
        since = log.last(rule.since, task.panel, rule.scope, until)
        if rule.only_after and since is None:
            return False, None
        return met is None or (since is not None and _moment(met) <= _moment(since)), None
    if rule.kind is RuleKind.NEXT_DAY and met is not None and met.on != on:
        return False, None
    return met is not None, met
