"""What a row that is entered by itself takes for granted: today, who acts, own stock."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from recondition.condition.vehicle import Holding
from recondition.intake.spec import Parse

if TYPE_CHECKING:
    from collections.abc import Mapping

    from recondition.intake.spec import Sheet

# Who did or read something is who acts, unless the row says otherwise.
_WHO = ("person", "found_by", "read_by", "tested_by", "moved_by")


def filled(given: Mapping[str, str], sheet: Sheet, *, person: str, now: datetime) -> dict[str, str]:
    """Put today, the acting ``person`` and own stock where a row leaves them out.

    ``given`` are texts by field; ``now`` has its zone.
    """
    days = [c.field for c in sheet.columns if c.parse is Parse.DATE and c.required]
    moments = [c.field for c in sheet.columns if c.parse is Parse.MOMENT and c.required]
    defaults = dict.fromkeys(days, now.date().isoformat())
    defaults |= dict.fromkeys(moments, now.isoformat(timespec="minutes"))
    # Whom a consent names is never taken for granted.
    who = () if sheet.kind == "consent" else _WHO
    defaults |= dict.fromkeys(who, person) | {"holding": Holding.OWN}
    fields = {column.field for column in sheet.columns}
    return {field: text for field, text in defaults.items() if field in fields} | dict(given)
