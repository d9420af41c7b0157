"""Export batches: what was handed out when, so that a later export can say what is new."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from recondition.fields import Words


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportBatch:
    """One export. ``upto`` says how many records of each chain it held, as canonical text.

    ``what`` is workbook, journal or lines; ``period`` and ``vehicle`` (its stock number) what it
    was narrowed to. ``sha256`` is the hash of the data in it, ``lines`` their count.
    """

    what: str
    exported_on: date
    period: str | None = None
    vehicle: str | None = None
    sha256: str
    lines: str
    upto: str
    file_name: Words | None = None
