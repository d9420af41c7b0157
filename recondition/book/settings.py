"""The settings of a book: what a user chooses once and every report relies on."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from recondition.accounts.holding import HoldingRates
from recondition.amounts import Money, Quantity
from recondition.amounts.currencies import minor_digits
from recondition.amounts.quantity import NotAQuantity
from recondition.book.moments import CLOCK_SET_RIGHT, set_right_from
from recondition.book.setting_errors import BadSetting
from recondition.book.settings_shop import shop_from
from recondition.errors import Refused
from recondition.ledger.lines import Loss
from recondition.materials.stock import Method
from recondition.worth.estimates import MeanRule
from recondition.worth.shop import Shop
from recondition.worth.supplies import SuppliesRule, supplies_rule

_FIGURES = re.compile(r"[0-9]{1,6}([./][0-9]{1,6})?")


class UnknownSetting(Refused):
    """A setting the book does not have."""

    def __init__(self, name: str) -> None:
        """Name it and list those there are."""
        super().__init__(
            f"there is no setting called {name!r}", todo="Settings are: " + ", ".join(SETTINGS)
        )


class CurrencyFixed(Refused):
    """The home currency of a book that has one already."""

    def __init__(self, currency: str) -> None:
        """Name the currency the book is kept in."""
        super().__init__(
            f"the book is kept in {currency}, and that is fixed",
            todo="Make another book for another currency.",
        )


class StockValueFixed(Refused):
    """Another way of valuing stock in a book that has stock already."""

    def __init__(self, method: str) -> None:
        """Name the way the book's stock is valued."""
        super().__init__(
            f"stock in this book is valued by {method}, and that is fixed with its first receipt",
            todo="Keep it; issues that were posted are never priced anew.",
        )


DATE_ORDERS = ("iso", "day first", "month first")
DECIMAL_MARKS = ("point", "comma")

SETTINGS: dict[str, str] = {
    "currency": "home currency of the book, an ISO 4217 code such as USD; fixed once chosen",
    "shop name": "the name that stands on the work history and the workbook",
    "date order": "how dates typed as text are read: iso, day first or month first",
    "decimal mark": "how numbers typed as text are read: point or comma",
    "mean rule": "mean of an estimate: triangle (low+likely+high)/3 "
    "or smooth (low+4 likely+high)/6",
    "stock value": "how an issue from stock is valued: moving average or first in first out; "
    "fixed with the first receipt",
    "loss rule": "where a spoiled part, a scrapped rest and rework go when a row does not say: "
    "abnormal (an expense) or normal (cost of the job)",
    "shared supplies": "how gloves, tape and laundry are charged to a job: '0', '18 per job', "
    "'2.50 per hour' or '6% of labour, at most 45'",
    "minimum charge": "the least an owner's job is billed; 0 where there is none",
    "film floor": "total film that must stay on a panel, in um, where neither panel nor vehicle "
    "says; none: headroom is then not known",
    "film stands out": "how many times the median of a car's other panels a mean must be to get "
    "a remark; 1.5 where nothing is chosen (common practice, no source)",
    "shop hours": "when the shop works, such as 08:00 to 16:00",
    "working days": "days worked, such as Mon Tue Wed Thu Fri, or every day",
    "closed days": "days the shop is closed, such as 2026-12-25; 2026-12-26",
    "bays": "bays in which vehicles are worked on",
    "laying out": "how a plan is laid out in time: shop calendar, or serial blocks "
    "(one piece after another, hours stretched over the clock)",
    "time case": "which hours the cut-off is held against: high, likely or mean",
    "limit case": "which figures cash, hours and owner's limits are held against: mean, likely "
    "or high",
    "irreversible bar": "how many times its cost irreversible work must net, else it is asked "
    "about; 0 for no bar",
    "interest a year": "interest on what a car stands at, such as 8%; 0 where none is counted",
    "insurance a year": "insurance of a car, such as 1.2% of what it stands at",
    "drift a year": "by how much the market is taken to fall, such as 2%",
    "storage a day": "what a day of storage costs",
    "upkeep a day": "what a day of upkeep costs: battery, tyres, exercise",
    "indifference": "an amount within which the plan that touches less wins; 0 when not wanted",
    CLOCK_SET_RIGHT: "until when entries were made with a clock that ran ahead, a moment such as "
    "2031-03-04T17:30:00+00:00; none where no clock did",
}


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings in force. Amounts are in the home currency."""

    currency: str
    shop_name: str
    date_order: str
    decimal_mark: str
    mean_rule: MeanRule
    stock_value: Method
    loss_rule: Loss
    shared_supplies: SuppliesRule
    minimum_charge: Money
    film_floor_um: Decimal | None
    film_stands_out: Decimal
    indifference: Money
    shop: Shop
    irreversible_bar: Fraction
    holding: HoldingRates
    clock_set_right: str


def _one_of(name: str, value: str, allowed: tuple[str, ...]) -> str:
    """Give the value if it is allowed, refuse it otherwise."""
    if value not in allowed:
        raise BadSetting(name, value, " or ".join(allowed))
    return value


def _film(values: Mapping[str, str], name: str, default: str) -> Decimal | None:
    """Read a setting about film, a number above zero; None where it is empty."""
    text = values.get(name, default).removesuffix("um").strip()
    if text in ("", "none"):
        return None
    try:
        found = Quantity.of(text, "um").number
    except NotAQuantity:
        raise BadSetting(name, text, "a number such as 80, or none") from None
    if not 0 < found <= 1000:  # noqa: PLR2004 - micrometres
        raise BadSetting(name, text, "a number from above 0 to 1000")
    return found


def _times(text: str) -> Fraction:
    """Read how many times a cost."""
    plain = text.strip()
    try:  # a power of ten such as 1e999999 is no sensible number, and takes minutes to write out
        found = Fraction(plain) if _FIGURES.fullmatch(plain) else Fraction(-1)
    except ZeroDivisionError:
        found = Fraction(-1)
    if not 0 <= found <= 1000:  # noqa: PLR2004 - any sensible number of times
        msg = "irreversible bar"
        raise BadSetting(msg, text, "a number such as 2, or 0")
    return found


def _holding(values: Mapping[str, str], currency: str) -> HoldingRates:
    """Read what standing costs."""

    def rate(name: str) -> Decimal:
        text = values.get(name, "0").strip()
        try:
            found = Decimal(text.removesuffix("%").strip())
        except InvalidOperation:
            found = Decimal(-1)
        if not found.is_finite():
            found = Decimal(-1)
        share = found.scaleb(-2) if text.endswith("%") else found
        if not 0 <= share < 1:
            raise BadSetting(name, text, "a rate such as 8%, below 100%")
        return share

    return HoldingRates(
        interest=rate("interest a year"),
        insurance=rate("insurance a year"),
        drift=rate("drift a year"),
        storage=Money.of(values.get("storage a day", "0"), currency),
        upkeep=Money.of(values.get("upkeep a day", "0"), currency),
    )


def settings_from(values: Mapping[str, str]) -> Settings:
    """Read settings from their texts; missing ones take the default that the list states.

    Raises UnknownSetting, BadSetting, and UnknownCurrency for a code that ISO 4217 lacks.
    """
    for name in values:
        if name not in SETTINGS:
            raise UnknownSetting(name)
    currency = values.get("currency", "USD").strip().upper()
    minor_digits(currency)
    return Settings(
        currency=currency,
        shop_name=values.get("shop name", ""),
        date_order=_one_of("date order", values.get("date order", "iso"), DATE_ORDERS),
        decimal_mark=_one_of("decimal mark", values.get("decimal mark", "point"), DECIMAL_MARKS),
        mean_rule=MeanRule(
            _one_of("mean rule", values.get("mean rule", "triangle"), tuple(MeanRule))
        ),
        stock_value=Method(
            _one_of("stock value", values.get("stock value", Method.MOVING_AVERAGE), tuple(Method))
        ),
        loss_rule=Loss(_one_of("loss rule", values.get("loss rule", Loss.ABNORMAL), tuple(Loss))),
        shared_supplies=supplies_rule(values.get("shared supplies", "0"), currency),
        minimum_charge=Money.of(values.get("minimum charge", "0"), currency),
        film_floor_um=_film(values, "film floor", ""),
        film_stands_out=_film(values, "film stands out", "1.5") or Decimal("1.5"),
        indifference=Money.of(values.get("indifference", "0"), currency),
        shop=shop_from(values),
        holding=_holding(values, currency),
        irreversible_bar=_times(values.get("irreversible bar", "0")),
        clock_set_right=set_right_from(values.get(CLOCK_SET_RIGHT, "")),
    )
