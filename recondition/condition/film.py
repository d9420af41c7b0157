"""Total film thickness of a panel: readings, their figures, and what may still be taken.

A gauge on metal reads primer, colour and clear together: the figure is the total film, and
nothing here says how much of it is clear. Which metal a gauge reads follows its principle:
magnetic on steel (ISO 2178), eddy current on aluminium (ISO 2360); titles and scopes of both
were read. Minimum, mean, standard deviation and count are the figures that ISO 2360 asks for.

Headroom (our own rule) = lowest reading - gauge uncertainty - floor.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal, localcontext
from enum import StrEnum

from recondition.amounts import Quantity
from recondition.condition.findings import When
from recondition.condition.panels import Substrate
from recondition.errors import Refused
from recondition.fields import Id, Words

UM_PER_MIL = Decimal("25.4")
_UM_MAX = Decimal(3000)
_TENTH, _HUNDREDTH = Decimal("0.1"), Decimal("0.01")


class Principle(StrEnum):
    """How a film gauge works; decides which metal it reads."""

    MAGNETIC = "magnetic"
    EDDY_CURRENT = "eddy current"
    BOTH = "magnetic and eddy current"
    ULTRASONIC = "ultrasonic"


_READS: dict[Principle, frozenset[Substrate]] = {
    Principle.MAGNETIC: frozenset({Substrate.STEEL}),
    Principle.EDDY_CURRENT: frozenset({Substrate.ALUMINIUM}),
    Principle.BOTH: frozenset({Substrate.STEEL, Substrate.ALUMINIUM}),
    Principle.ULTRASONIC: frozenset(Substrate),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """A gauge of the shop. ``uncertainty`` is that of one reading, in um or mil."""

    name: str
    principle: Principle
    uncertainty: Quantity
    serial: str | None = None

    def check(self) -> None:
        """Refuse an uncertainty that no film gauge has. Raises NotAFilm."""
        found = um(self.uncertainty)
        if not 0 < found <= 100:  # noqa: PLR2004 - micrometres
            raise NotAFilm(self.uncertainty, "an uncertainty from above 0 to 100 um")


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmReading:
    """Readings of the total film at one place, or over one panel where no place is named.

    ``readings`` are in ``unit`` (um or mil). ``zero`` is what the gauge showed on bare metal
    and ``foil_read`` on a foil of ``foil``, before the readings; ``zero_after`` and
    ``foil_after`` the same afterwards. ``step`` and ``when`` say before or after which step
    of the work it was. ``words`` may be shown to a buyer.
    """

    vehicle: Id
    panel: str
    readings: tuple[Decimal, ...]
    unit: str
    instrument: Id
    read_on: date
    place: str | None = None
    step: str | None = None
    when: When | None = None
    zero: Quantity | None = None
    foil: Quantity | None = None
    foil_read: Quantity | None = None
    zero_after: Quantity | None = None
    foil_after: Quantity | None = None
    surface: Quantity | None = None
    read_by: Id | None = None
    documents: tuple[Id, ...] = ()
    words: Words | None = None
    private_note: Words | None = None

    @property
    def in_um(self) -> tuple[Decimal, ...]:
        """The readings in micrometres, exact."""
        factor = UM_PER_MIL if self.unit == "mil" else Decimal(1)
        return tuple(reading * factor for reading in self.readings)


class NotAFilm(Refused):
    """A film figure that no paint of a car has; mostly millimetres typed for micrometres."""

    def __init__(self, found: object, allowed: str) -> None:
        """Show the figure and what can be."""
        super().__init__(f"{found} is no film of this trade", todo=f"Give {allowed}.")


class NotReadable(Refused):
    """A panel whose material the gauge cannot read."""

    def __init__(self, panel: str, substrate: Substrate, principle: Principle) -> None:
        """Name the panel, what it is made of and how the gauge works."""
        super().__init__(
            f"{panel} is made of {substrate.value}, which a gauge of the principle "
            f"{principle.value!r} cannot read",
            todo="Use an instrument that reads it (ultrasonic for plastic and composite), or "
            "leave it without a reading; correct what the panel is made of if that is wrong.",
        )


class CheckFailed(Refused):
    """The gauge was off on bare metal or foil, so its readings prove nothing."""

    def __init__(self, what: str, found: Decimal, wanted: Decimal, within: Decimal) -> None:
        """Say on what it was off and by how much, in micrometres."""
        super().__init__(
            f"on the {what} the gauge read {shown(found)} um for {shown(wanted)} um, more than "
            f"its uncertainty of {shown(within)} um away",
            todo="Adjust the gauge on bare metal and foil, and take the readings again.",
        )


class HalfACheck(Refused):
    """A foil was read and its thickness is not given, or the other way about."""

    def __init__(self) -> None:
        """Say what belongs together."""
        super().__init__(
            "a check on foil needs the foil's own thickness and what the gauge read on it",
            todo="Give both, or neither.",
        )


def um(quantity: Quantity) -> Decimal:
    """Give a length in micrometres, exact. Raises UnitMismatch for anything but a length."""
    value = quantity.to("um")
    return Decimal(value.numerator) / Decimal(value.denominator)


def shown(value: Decimal) -> str:
    """Write micrometres to a tenth, half away from zero, without a trailing zero."""
    text = format(value.quantize(_TENTH, ROUND_HALF_UP), "f")
    return text.removesuffix(".0")


def in_mil(value: Decimal) -> Decimal:
    """Give micrometres in mil, to two places."""
    return (value / UM_PER_MIL).quantize(_HUNDREDTH, ROUND_HALF_UP)


def check_floor(floor: Quantity | None) -> None:
    """Refuse a floor that no film can have. Raises NotAFilm, UnitMismatch."""
    if floor is not None and not 0 < um(floor) <= _UM_MAX:
        raise NotAFilm(floor, allowed=f"a floor from above 0 to {_UM_MAX} um")


def check_reading(reading: FilmReading, instrument: Instrument, substrate: Substrate) -> None:
    """Refuse readings that cannot be, or that the instrument cannot have taken.

    Raises NotAFilm, NotReadable, HalfACheck, CheckFailed.
    """
    if substrate is not Substrate.UNKNOWN and substrate not in _READS[instrument.principle]:
        raise NotReadable(reading.panel, substrate, instrument.principle)
    for value, typed in zip(reading.in_um, reading.readings, strict=True):
        if not 0 < value <= _UM_MAX:
            found = f"{typed} {reading.unit}"
            raise NotAFilm(found, f"readings from above 0 to {_UM_MAX} um")
    if not reading.readings:
        raise NotAFilm(found="no reading", allowed="one reading or more")
    _check_gauge(reading, um(instrument.uncertainty))


def _check_gauge(reading: FilmReading, within: Decimal) -> None:
    """Hold what the gauge showed on bare metal and foil against its uncertainty."""
    foils = (reading.foil_read, reading.foil_after)
    if (reading.foil is None) != all(foil is None for foil in foils):
        raise HalfACheck
    for zero in (reading.zero, reading.zero_after):
        if zero is not None and abs(um(zero)) > within:
            raise CheckFailed(what="bare metal", found=um(zero), wanted=Decimal(0), within=within)
    for foil in foils:
        if foil is not None and reading.foil is not None:
            wanted = um(reading.foil)
            if abs(um(foil) - wanted) > within:
                raise CheckFailed(what="foil", found=um(foil), wanted=wanted, within=within)


@dataclass(frozen=True, slots=True)
class Figures:
    """Lowest, highest, mean and standard deviation (n - 1) in micrometres, and the count.

    ``deviation_um`` is None for a single reading, which says nothing.
    """

    lowest_um: Decimal
    highest_um: Decimal
    mean_um: Decimal
    deviation_um: Decimal | None
    count: int


def figures(readings: Iterable[Decimal]) -> Figures:
    """Work out the figures of readings in micrometres; ValueError where there are none."""
    values = list(readings)
    with localcontext() as context:
        context.prec = 40
        mean = sum(values, Decimal(0)) / len(values)
        squares = sum(((value - mean) ** 2 for value in values), Decimal(0))
        spread = (squares / (len(values) - 1)).sqrt() if len(values) > 1 else None
    return Figures(min(values), max(values), mean, spread, len(values))


@dataclass(frozen=True, slots=True)
class Taken:
    """Film that a posted line is expected to have taken off a panel, in micrometres."""

    on: date
    order: int
    um: Decimal


@dataclass(frozen=True, slots=True)
class Placed:
    """One set of readings with its instrument's uncertainty; ``order`` is that of recording."""

    reading: FilmReading
    uncertainty_um: Decimal
    order: int
    ref: str = ""

    @property
    def place(self) -> str | None:
        """The place, whatever its capitals and blanks; None for the panel as a whole."""
        named = self.reading.place
        return " ".join(named.casefold().split()) if named else None

    @property
    def moment(self) -> tuple[date, int]:
        """When it was, among the readings of its day: before a step, as recorded, or after one."""
        sides = {When.BEFORE: -1, When.AFTER: 1, None: 0}
        return self.reading.read_on, sides[self.reading.when]

    def precedes(self, taken: Taken) -> bool:
        """Tell whether the readings were there before the film was taken.

        On one day readings said to be before a step come first; all others as recorded.
        """
        if self.reading.read_on != taken.on:
            return self.reading.read_on < taken.on
        return self.reading.when is When.BEFORE or self.order < taken.order


@dataclass(frozen=True, slots=True)
class Headroom:
    """What may still be taken off a panel.

    ``lowest_um`` is the lowest reading, ``since_um`` what posted work is expected to have
    taken at that place since. ``removed_um`` is the mean removed between the first and the
    last readings at the same place, None where no place was read twice. ``sets`` names the
    readings it rests on.
    """

    panel: str
    lowest_um: Decimal
    since_um: Decimal
    uncertainty_um: Decimal
    floor_um: Decimal
    removed_um: Decimal | None
    sets: tuple[str, ...]

    @property
    def um(self) -> Decimal:
        """Lowest reading, less what was taken since, less uncertainty, less floor."""
        return self.lowest_um - self.since_um - self.uncertainty_um - self.floor_um

    def allows(self, takes_um: Decimal) -> bool:
        """Tell whether work that is expected to take so much may be done."""
        return takes_um <= self.um

    def words(self) -> str:
        """Show how it is worked out."""
        since = f" - taken since {shown(self.since_um)}" if self.since_um else ""
        removed = (
            f"; mean removed so far {shown(self.removed_um)} um"
            if self.removed_um is not None
            else ""
        )
        return (
            f"headroom {shown(self.um)} um (lowest {shown(self.lowest_um)}{since} - uncertainty "
            f"{shown(self.uncertainty_um)} - floor {shown(self.floor_um)}){removed}"
        )


def latest(sets: Sequence[Placed]) -> dict[str | None, Placed]:
    """Give the last set of readings at each place of a panel."""
    newest: dict[str | None, Placed] = {}
    for placed in sorted(sets, key=lambda each: (*each.moment, each.order)):
        newest[placed.place] = placed
    return newest


def removed(sets: Sequence[Placed]) -> Decimal | None:
    """Give the mean film removed, first readings to last, at the places read twice.

    Places weigh alike. Before and after are only compared at the same named place: None
    where there is none such.
    """
    by_place: dict[str, list[Placed]] = {}
    for placed in sorted(sets, key=lambda each: (*each.moment, each.order)):
        if placed.place is not None:
            by_place.setdefault(placed.place, []).append(placed)
    steps = [
        figures(found[0].reading.in_um).mean_um - figures(found[-1].reading.in_um).mean_um
        for found in by_place.values()
        if len(found) > 1
    ]
    return sum(steps, Decimal(0)) / len(steps) if steps else None


def headroom(
    panel: str, sets: Sequence[Placed], taken: Sequence[Taken], floor_um: Decimal | None
) -> Headroom | None:
    """Work out the headroom of a panel from the last readings at each place.

    What posted work took after a place was read is taken off there. None without readings or
    without a floor: then nobody knows.
    """
    if not sets or floor_um is None:
        return None
    found = []
    for placed in latest(sets).values():
        since = sum((each.um for each in taken if placed.precedes(each)), Decimal(0))
        lowest = min(placed.reading.in_um)
        found.append((lowest - since - placed.uncertainty_um, lowest, since, placed))
    _, lowest, since, placed = min(found, key=lambda each: each[0])
    gone, names = removed(sets), tuple(each.ref for *_, each in found)
    return Headroom(panel, lowest, since, placed.uncertainty_um, floor_um, gone, names)


class NoHeadroom(Refused):
    """Work would take more film than the panel can give."""

    def __init__(self, takes_um: Decimal, room: Headroom) -> None:
        """Show the figures it rests on."""
        super().__init__(
            f"the work is expected to take {shown(takes_um)} um off the {room.panel}, more than "
            f"its {room.words()}",
            todo="Leave it, take less, or read again; who answers for it can override with a "
            "reason ('override because'), which is printed.",
        )
