"""Plants markers in every private field of real records, as far as a book takes them.

Every record that is posted goes through ``Planter.post``: field by field it tries what nothing
public could hold (a text, an amount, a figure, a day), first against the book with the posting
taken back again, and keeps what the book accepts. So a field that somebody adds is planted
without a word here, and what cannot be planted is known by name.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum
from itertools import count, islice
from typing import TYPE_CHECKING, Any, get_args, get_origin

from recondition.amounts import Money, Quantity
from recondition.book.engine import RollBack
from recondition.book.posting import Poster
from recondition.errors import Refused
from recondition.fields import Id, Words
from recondition.history.public import PUBLIC
from recondition.ledger.codec import hints
from recondition.ledger.hourly import RateBasis
from recondition.ledger.lines import Cause, FitWindow, Payer, Rework
from recondition.materials.measuring import Measure, Way
from recondition.worth.estimates import ThreeAmounts, ThreeNumbers
from recondition.worth.terms import Slice
from tests.book.make import ACTING

if TYPE_CHECKING:
    from recondition.book.engine import Book
    from recondition.book.posting import Result
    from recondition.ledger.drafts import Draft

HIDDEN, SHORT = "Hiddenmark", "Hmark"
# Runs of figures that no hash in an output holds but once in some hundred million.
MONEY, FIGURE = "9091728", "8081728"
CLOCK = "23:58:57"
_FIRST_DAY, _LATER_DAY = date(1893, 2, 3), date(2141, 2, 3)
_UNITS = ("um", "h", "ml", "g", "C", "min", "mm", "piece", "mg_l")
_UNIT_OF = {
    **dict.fromkeys(("tare", "gross_before", "gross_after", "resolution"), "g"),
    **dict.fromkeys(("surface", "surface_low", "surface_high"), "C"),
    **dict.fromkeys(("calcium", "magnesium", "strip"), "mg_l"),
    **dict.fromkeys(("holds", "sprayed", "per_stroke"), "ml"),
}
_MOMENTS = ("found_at", "started_at", "ended_at", "at", "moved_at")
# Rows whose figures later rows of the same book must agree with.
AS_BUILT = {"TC-9", "L-3", "C-9", "CR-1", "AP-1"}
# A fraction first, then what is more: a rate, an acid, an hour, a weight.
_WHOLE = (0, 7, 29, 90_000)
Path = tuple[str, ...]
WhyNot = Callable[[Any], str]


# Public though no list of fields names it: what an edition is known by stands in the signed
# head of the one that takes its place.
SHOWN_AS_PROOF = {("edition", ("head",))}


def leaves(cls: type[Any], above: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Give every field of a dataclass with its type; inner dataclasses field by field.

    A list of dataclasses counts as one of them, under the name of the list.
    """
    for name, hint in hints(cls).items():
        inner = get_args(hint)[0] if get_origin(hint) is tuple else hint
        if dataclasses.is_dataclass(inner) and inner not in (Money, Quantity):
            yield from leaves(inner, (*above, name))
        else:
            yield (*above, name), hint


def is_public(kind: str, path: Path) -> bool:
    """Tell whether a buyer may see a field."""
    return path[0] in PUBLIC.get(kind, ()) or (kind, path) in SHOWN_AS_PROOF


def nothing_to_plant(path: Path, hint: Any) -> bool:
    """Tell whether a field leaves no choice: a fixed list, a unit, yes or no, the id of a record.

    An id is random and stands for itself: every one is searched for as it is.
    """
    inner = get_args(hint)[0] if get_origin(hint) is tuple else hint
    return (
        path[-1] == "unit"
        or inner in (bool, Id)
        or (isinstance(inner, type) and issubclass(inner, StrEnum))
    )


def is_marked(value: Any) -> bool:
    """Tell whether a value is a marker already."""
    said = re.sub(r"[-., ]", "", str(value))
    return any(mark in said for mark in (HIDDEN, SHORT, MONEY, FIGURE, CLOCK))


_EXAMPLES: dict[Any, Any] = {
    FitWindow: FitWindow(surface=Quantity(Decimal(20), "C")),
    Measure: Measure(way=Way.WEIGHED),
    RateBasis: RateBasis(
        wage=Money.of("20.00", "USD"),
        on_cost=Decimal("0.2"),
        paid_hours=Decimal(40),
        productive_hours=Decimal(30),
    ),
    Rework: Rework(of=Id("none"), cause=Cause.METHOD, payer=Payer.SHOP),
    ThreeAmounts: ThreeAmounts(*[Money.of("1", "USD")] * 3),
    ThreeNumbers: ThreeNumbers(*[Decimal(1)] * 3),
    Slice: (Slice(Decimal("0.05"), Money.of("50000", "USD")), Slice(Decimal("0.04"))),
}


class Planter:
    """Plants markers, each with a number of its own, and knows where it could not."""

    def __init__(self) -> None:
        """Start with none planted."""
        self._number = count(1)
        self._month = count(1)
        self.days: list[date] = []
        self.planted: set[tuple[str, Path]] = set()
        self.refused: dict[tuple[str, Path], str] = {}
        self.trials = 0
        self._choice: dict[tuple[str, Path], int] = {}

    def post(self, book: Book, *drafts: Draft, author: str = ACTING) -> list[Result]:
        """Post drafts with all that can be planted in them."""
        results = []
        for draft in drafts:
            marked = draft if draft.ref in AS_BUILT else self._marked(book, draft, author)
            with book.writing() as conn:
                results.append(Poster(book, conn, author).post(marked))
        return results

    def _marked(self, book: Book, draft: Draft, author: str) -> Draft:
        """Plant what the book accepts."""
        kind = str(draft.kind)
        private = [
            (path, hint)
            for path, hint in leaves(type(draft.entry))
            if not is_public(kind, path) and not nothing_to_plant(path, hint)
        ]
        there = {path for path, _ in private if is_marked(_at(draft.entry, path))}
        self.planted |= {(kind, path) for path in there}

        def why_not(entry: Any) -> str:
            return self._refusal(book, dataclasses.replace(draft, entry=entry), author)

        fields = [each for each in private if each[0] not in there]
        entry = self._planted_in(draft.entry, kind, fields, why_not)
        return dataclasses.replace(draft, entry=entry)

    def _planted_in(
        self, entry: Any, kind: str, fields: list[tuple[Path, Any]], why_not: WhyNot
    ) -> Any:
        """Plant some fields at once; where that is refused, one half of them after the other."""
        tried, done = entry, set()
        for path, hint in fields:
            place, old = self._choice.get((kind, path), 0), _at(tried, path)
            marker = next(islice(self._markers(path[-1], hint, old), place, None), None)
            if marker is None:
                self.refused.setdefault((kind, path), f"no marker for {hint}")
                continue
            try:
                tried = _with(tried, path, marker)
            except KeyError:  # a list of others, such as findings, that is empty here
                self.refused.setdefault((kind, path), "nothing to plant it in")
            else:
                done.add((kind, path))
        if not done:
            return entry
        if not why_not(tried):
            self.planted |= done
            return tried
        if len(fields) == 1:
            return self._planted_at(entry, kind, *fields[0], why_not)
        half = len(fields) // 2
        first = self._planted_in(entry, kind, fields[:half], why_not)
        return self._planted_in(first, kind, fields[half:], why_not)

    def _planted_at(self, entry: Any, kind: str, path: Path, hint: Any, why_not: WhyNot) -> Any:
        """Plant the first marker that one field takes."""
        for place, marker in enumerate(self._markers(path[-1], hint, _at(entry, path))):
            tried = _with(entry, path, marker)
            why = why_not(tried)
            if not why:
                self.planted.add((kind, path))
                self._choice[kind, path] = place
                return tried
            self.refused.setdefault((kind, path), why)
        return entry

    def _refusal(self, book: Book, draft: Draft, author: str) -> str:
        """Post a draft and take it back; say why it is refused, nothing where it is not."""
        self.trials += 1
        try:
            with book.writing() as conn:
                Poster(book, conn, author).post(draft)
                taken_back = RollBack()
                raise taken_back  # the book takes it back and goes on
        except (Refused, ValueError, KeyError, TypeError, AttributeError, ArithmeticError) as error:
            return f"{type(error).__name__}: {error}"
        return ""

    def _markers(self, name: str, hint: Any, old: Any) -> Iterator[Any]:
        """Give what a field may take that nothing public has, most telling first."""
        if get_origin(hint) is tuple:
            inner, size = get_args(hint)[0], max(len(old or ()), 1)
            for _ in range(2 if inner is Decimal else 1):
                made = [next(self._markers(name, inner, None), None) for _ in range(size)]
                if None not in made:
                    yield tuple(made)
            return
        ways = {
            str: self._texts,
            Words: self._texts,
            Money: self._amounts,
            int: self._counts,
            Decimal: self._numbers,
            Quantity: self._quantities,
            date: self._dates,
        }
        yield from ways[hint](name, old) if hint in ways else ()

    def _texts(self, name: str, _old: Any) -> Iterator[str]:
        number = next(self._number)
        if name in _MOMENTS:
            yield f"2031-03-0{_MOMENTS.index(name) + 1}T{CLOCK}.{number:03}+00:00"
            return
        if name == "period":
            month = next(self._month)  # later and later: what takes back belongs no earlier
            yield f"{2150 + month // 12}-{month % 12 + 1:02}"
        elif name == "hit":
            yield f"{SHORT}{number % 1000:03}"
        else:
            yield f"{HIDDEN} of {name.replace('_', ' ')} {number}"

    def _amounts(self, _name: str, old: Any) -> Iterator[Money]:
        """Give an amount, and a smaller one for what is a part of another."""
        currency = old.currency if old else "USD"
        yield Money(int(f"{MONEY}{next(self._number):03}"), currency)
        yield Money(int(MONEY), currency)

    def _counts(self, _name: str, _old: Any) -> Iterator[int]:
        yield int(f"{FIGURE}{next(self._number) % 100:02}")

    def _numbers(self, _name: str, _old: Any) -> Iterator[Decimal]:
        for whole in _WHOLE:
            yield Decimal(f"{whole}.{FIGURE}{next(self._number):03}1")

    def _quantities(self, name: str, old: Any) -> Iterator[Quantity]:
        """Begin with what is no less than what was there: later records take from it."""
        least = old.number if old else 0
        usual = (_UNIT_OF[name],) if name in _UNIT_OF else _UNITS
        for unit in [old.unit] if old else usual:
            for whole in sorted(_WHOLE, key=lambda each: (each < least, each)):
                yield Quantity(Decimal(f"{whole}.{FIGURE}{next(self._number):03}1"), unit)

    def _dates(self, _name: str, _old: Any) -> Iterator[date]:
        for first in (_FIRST_DAY, _LATER_DAY):
            self.days.append(first + timedelta(days=next(self._number)))
            yield self.days[-1]
        self.days.append(self.days[-1] - timedelta(days=self.days[-1].weekday()))
        yield self.days[-1]


def _at(entry: Any, path: Path) -> Any:
    """Give the value at a path, of a list that of its first item; None where there is none."""
    for name in path:
        if isinstance(entry, tuple):
            entry = entry[0] if entry else None
        entry = None if entry is None else getattr(entry, name)
    return entry


def _with(entry: Any, path: Path, value: Any) -> Any:
    """Give an entry with another value at a path; an inner one that is missing is made up."""
    name, rest = path[0], path[1:]
    if not rest:
        return dataclasses.replace(entry, **{name: value})
    inner, hint = getattr(entry, name), hints(type(entry))[name]
    if inner is None or inner == ():
        inner = _EXAMPLES[get_args(hint)[0] if get_origin(hint) is tuple else hint]
    if isinstance(inner, tuple):
        changed: Any = (_with(inner[0], rest, value), *inner[1:])
    else:
        changed = _with(inner, rest, value)
    return dataclasses.replace(entry, **{name: changed})
