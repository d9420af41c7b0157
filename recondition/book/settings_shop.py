"""The settings that say when, where and by which rule the shop works."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from fractions import Fraction
from typing import TypeVar

from recondition.book.setting_errors import BadSetting
from recondition.worth.calendar import DAY, Calendar
from recondition.worth.shop import LayingOut, Reading, Shop

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MOST_BAYS = 50
Choice = TypeVar("Choice", bound=StrEnum)


def shop_from(values: Mapping[str, str]) -> Shop:
    """Read the shop from the settings; people are added from their own records.

    Raises BadSetting.
    """
    opens, shift = _hours(values.get("shop hours", "08:00 to 16:00"))
    return Shop(
        calendar=Calendar(
            opens=opens,
            shift=shift,
            weekdays=_weekdays(values.get("working days", "Mon Tue Wed Thu Fri")),
            closed=_closed(values.get("closed days", "")),
        ),
        bays=_bays(values.get("bays", "1")),
        laying_out=_one_of(LayingOut, "laying out", values, LayingOut.CALENDAR),
        time_reading=_one_of(Reading, "time case", values, Reading.HIGH),
        limit_reading=_one_of(Reading, "limit case", values, Reading.MEAN),
    )


def _one_of(kind: type[Choice], name: str, values: Mapping[str, str], default: Choice) -> Choice:
    text = values.get(name, default.value).strip().casefold()
    for each in kind:
        if each.value == text:
            return each
    raise BadSetting(name, text, " or ".join(each.value for each in kind))


def _hours(text: str) -> tuple[Fraction, Fraction]:
    """Read opening hours: when it opens, and for how long; 24:00 is midnight."""
    parts = [part.strip() for part in text.replace("-", " to ").split(" to ") if part.strip()]
    try:
        opens, closes = map(_time_of_day, parts)
    except ValueError:
        opens, closes = Fraction(1), Fraction(0)
    if not 0 <= opens < closes <= DAY:
        msg = "shop hours"
        raise BadSetting(msg, text, "an opening and a closing time, as 08:00 to 16:00")
    return opens, closes - opens


def _time_of_day(text: str) -> Fraction:
    hours, _, minutes = text.partition(":")
    if not (_figures(hours) and _figures(minutes or "0")) or int(minutes or 0) > 59:  # noqa: PLR2004
        raise ValueError(text)
    return Fraction(int(hours) * 60 + int(minutes or 0), 60)


def _weekdays(text: str) -> frozenset[int]:
    if text.strip().casefold() == "every day":
        return frozenset(range(7))
    names = [name.casefold()[:3] for name in text.replace(",", " ").replace(";", " ").split()]
    if not names or any(name not in DAYS for name in names):
        msg = "working days"
        raise BadSetting(msg, text, "days such as Mon Tue Wed Thu Fri, or every day")
    return frozenset(DAYS.index(name) for name in names)


def _closed(text: str) -> frozenset[date]:
    try:
        return frozenset(date.fromisoformat(day) for day in text.replace(";", " ").split())
    except ValueError:
        msg = "closed days"
        raise BadSetting(msg, text, "days such as 2026-12-25; 2026-12-26") from None


def _figures(text: str) -> bool:
    """Tell whether a text is one to four figures; a raised 2 is a digit, and no number."""
    return text.isdecimal() and len(text) <= 4  # noqa: PLR2004 - as said


def _bays(text: str) -> int:
    plain = text.strip()
    if not _figures(plain) or not 0 < int(plain) <= MOST_BAYS:
        msg = "bays"
        raise BadSetting(msg, text, f"a whole number from 1 to {MOST_BAYS}")
    return int(plain)
