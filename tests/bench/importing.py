"""Imports a folder of .csv in a process of its own and says how much memory it took.

``python -m tests.bench.importing FOLDER BOOK [LIMIT]``: with a LIMIT the little that is kept at
hand while reading and posting is made less, so that what grows with the rows is seen at once.
"""

from __future__ import annotations

import re
import resource
import sys
from pathlib import Path

from recondition.book import context, surfaces
from recondition.errors import Refused
from recondition.intake import staging
from tests.bench.big import imported

KIB_IN_MIB = 1024


def lower(limit: int) -> None:
    """Keep so few sheets and refs at hand, and little of the staging file."""
    surfaces.RECORDS_MAX = 500 * limit
    context.REMEMBERED_MAX = staging.REMEMBERED_MAX = 100 * limit
    staging.CACHE_KIB = 2048


def peak_mib() -> int:
    """Give the most memory this process had; what its parent had counts elsewhere but on Linux."""
    status = Path("/proc/self/status")
    if status.exists():
        (peak,) = re.findall(r"VmHWM:\s+(\d+) kB", status.read_text())
        return int(peak) // KIB_IN_MIB
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // KIB_IN_MIB


def main(folder: str, place: str, limit: str = "") -> None:
    """Import, then print rows written, what was refused, and the peak of memory in MiB."""
    if limit:
        lower(int(limit))
    said, rows = "-", 0
    try:
        book, report = imported(Path(folder), Path(place))
        rows = report.changed
        book.close()
    except Refused as refused:
        said = refused.where.replace(" ", "_")
    print(rows, said, peak_mib())  # noqa: T201


if __name__ == "__main__":
    main(*sys.argv[1:])
