"""Numbers, dates and units as a reader of a place expects them (Unicode CLDR, by Babel).

The words themselves stand in ``wording``. Film is given in micrometres and in mil, the one
that is usual at the place first.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from babel import Locale, UnknownLocaleError
from babel.dates import format_date
from babel.numbers import format_decimal

from recondition.amounts import Quantity
from recondition.condition.film import in_mil
from recondition.condition.findings import ExtentKind
from recondition.errors import Refused
from recondition.history import phrases as ph
from recondition.history import wording as w

DEFAULT = "en_GB"
_MIL_FIRST = ("US",)
_ONE_PIECE = ("piece", "1")
_EXAMPLES = "en_GB, en_US, en_DE"


class NoSuchLocale(Refused):
    """A locale that is not known, or whose language the wording is not in."""

    exit_status = 2

    def __init__(self, name: str) -> None:
        """Name it and some that there are."""
        super().__init__(
            f"the sheet cannot be written for {name!r}",
            todo=f"Give a locale of the language '{w.LANGUAGE}', such as {_EXAMPLES}.",
        )


class Saying:
    """Writes values for one locale, named as CLDR does: ``en_GB``, ``en_US``, ``en_DE``."""

    def __init__(self, name: str = DEFAULT) -> None:
        """Take a locale by name; a hyphen does as well. Raises NoSuchLocale."""
        try:
            self._locale = Locale.parse(name.replace("-", "_"))
        except (UnknownLocaleError, ValueError, TypeError):
            raise NoSuchLocale(name) from None
        if self._locale.language != w.LANGUAGE:
            raise NoSuchLocale(name)
        self.name = str(self._locale)

    @property
    def tag(self) -> str:
        """The locale as a language tag (BCP 47): ``en-GB``."""
        return self.name.replace("_", "-")

    def day(self, when: date) -> str:
        """Write a date with its month in letters: no reader takes the month for the day."""
        return format_date(when, "long", locale=self._locale)

    def late(self, recorded_on: date | None) -> tuple[str, ...]:
        """Say when an entry was recorded, where that was late; nothing otherwise."""
        return (ph.recorded_on(self.day(recorded_on)),) if recorded_on else ()

    def number(self, value: Decimal | int, places: int | None = None) -> str:
        """Write a number, rounded half away from zero to so many places where they are given."""
        exact = Decimal(value)
        if places is not None:
            exact = exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
        shown = Decimal(format(exact.normalize(), "f"))
        return format_decimal(shown, locale=self._locale, decimal_quantization=False)

    def film(self, um: Decimal) -> str:
        """Write a film thickness in micrometres to a tenth and in mil to a hundredth."""
        metric, mil = f"{self.number(um, 1)} µm", f"{self.number(in_mil(um), 2)} mil"
        first, second = (metric, mil) if self._locale.territory not in _MIL_FIRST else (mil, metric)
        return f"{first} ({second})"

    def quantity(self, amount: Quantity) -> str:
        """Write a quantity with its unit's sign; pieces are told by their number alone."""
        number = self.number(amount.number)
        return number if amount.unit == "piece" else f"{number} {ph.unit_sign(amount.unit)}"

    def part_name(self, name: str, amount: Quantity) -> str:
        """Name a part, with its quantity unless that is one piece."""
        if (amount.unit, amount.number_text) == _ONE_PIECE:
            return name
        return f"{name} ({self.quantity(amount)})"

    def extent(self, amount: Quantity | None, kind: ExtentKind | None) -> str:
        """Say how much of a panel a finding takes up; empty where nobody said."""
        if amount is None:
            return ph.term(kind) if kind else ""
        tail = ph.EXTENT_TAIL.get(kind) if kind else None
        if tail:
            return f"{self.quantity(amount)} {tail}"
        return ", ".join(filter(None, (ph.term(kind) if kind else "", self.quantity(amount))))

    def numbers(self, values: Iterable[int]) -> str:
        """List numbers of this sheet: 3, 4 and 7."""
        return ph.listed([str(value) for value in values])
