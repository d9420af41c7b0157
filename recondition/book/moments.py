"""Moments of recording, and a machine's clock that was moved back.

A record bears the moment at which it was posted. Within a chain these moments go forward; two
machines differ a little, so that a small step back is allowed. A larger one means that a clock
is wrong: either it is behind now, or it ran ahead before. Which of the two only people know.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from recondition.book.setting_errors import BadSetting
from recondition.errors import Refused

TOLERANCE = timedelta(minutes=10)
"""By how much a record may lie before the last one of its chain."""

CLOCK_SET_RIGHT = "clock set right"
"""The setting that says until when records were made with a clock that ran ahead."""


class ClockBehind(Refused):
    """The clock of this machine stands before the last entry of the chain that is to grow."""

    def __init__(self, now: str, last: str, chain: str, say: str) -> None:
        """Show where the clock stands, the last entry's moment, whose it is and what to ``say``."""
        super().__init__(
            f"the clock of this machine stands at {shown(now)}, "
            f"before the last entry of {chain}, made at {shown(last)}",
            where=chain,
            todo="Nothing was written. Set the clock right. If the earlier entries were made with "
            "a clock that ran ahead, say so first: "
            f"recondition book set '{CLOCK_SET_RIGHT}' {say}",
        )


class NotThatMoment(Refused):
    """A moment up to which clocks are said to have run ahead, and that cannot be."""

    def __init__(self, said: str, newest: str) -> None:
        """Show the moment and that of the newest entry."""
        super().__init__(
            f"clocks cannot have run ahead until {said}: the newest entry was made at "
            f"{shown(newest)}",
            todo="If entries were made with a clock that ran ahead: "
            f"recondition book set '{CLOCK_SET_RIGHT}' {shown(newest)}",
        )


def went_back(before: str, now: str) -> bool:
    """Tell whether ``now`` lies before ``before`` by more than TOLERANCE.

    Both are ISO 8601 with a zone, as ``recorded_at`` is. Raises ValueError for other texts.
    """
    return datetime.fromisoformat(now) < datetime.fromisoformat(before) - TOLERANCE


def is_behind(last: str, now: str, set_right: str = "", said_at: str = "") -> bool:
    """Tell whether a record made at ``now`` may not follow one made at ``last``.

    It may where the last one was made up to ``set_right``, the moment until which clocks are
    known to have run ahead ('' where nothing was said), and ``now`` is not before ``said_at``,
    when that was said. All are ISO 8601 with a zone.
    """
    if not went_back(last, now):
        return False
    known = bool(set_right) and datetime.fromisoformat(last) <= datetime.fromisoformat(set_right)
    return not known or (bool(said_at) and went_back(said_at, now))


def hold_set_right(said: str, newest: str, now: str) -> None:
    """Hold that clocks can have run ahead up to the moment that is ``said``; '' always can be.

    Not after the ``newest`` entry, which would let later ones go back, and where that lies ahead
    of ``now`` not before it, which would leave it unexplained. Raises NotThatMoment.
    """
    if not said:
        return
    moment, last = datetime.fromisoformat(said), datetime.fromisoformat(newest or now)
    if moment > last + TOLERANCE or (went_back(newest or now, now) and moment < last):
        raise NotThatMoment(said, newest or now)


def to_say(newest: str, set_right: str) -> str:
    """Write the moment that explains the newest entry; never what is said already.

    The same value would count as already there.
    """
    moment = shown(newest)
    if set_right and datetime.fromisoformat(moment) == datetime.fromisoformat(set_right):
        return (datetime.fromisoformat(moment) + timedelta(seconds=1)).isoformat()
    return moment


def shown(moment: str) -> str:
    """Write a moment to the second, rounded up, in the zone it was noted in."""
    found = datetime.fromisoformat(moment)
    up = timedelta(seconds=1) if found.microsecond else timedelta(0)
    return (found.replace(microsecond=0) + up).isoformat()


def set_right_from(text: str) -> str:
    """Read the setting: a moment with its zone, or '' where there is none. Raises BadSetting."""
    if text.strip() in ("", "none"):
        return ""
    try:
        found = datetime.fromisoformat(text.strip())
    except ValueError:
        found = None
    if found is None or found.tzinfo is None:
        raise BadSetting(
            CLOCK_SET_RIGHT, text, "a moment with its zone, such as 2031-03-04T17:30:00+00:00"
        )
    return found.isoformat()
