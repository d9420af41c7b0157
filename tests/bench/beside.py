"""Ours beside a plain baseline, measured in turn in one run; the figure kept is the ratio."""

from __future__ import annotations

import os
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Connection

SIZES = (10_000, 100_000, 1_000_000)


def sizes() -> list[int]:
    """Give the sizes of books in lines; RECONDITION_BENCH_LINES_MAX leaves the greater ones out."""
    most = int(os.environ.get("RECONDITION_BENCH_LINES_MAX", SIZES[-1]))
    return [size for size in SIZES if size <= most]


def seconds(do: Callable[[], Any]) -> float:
    """Give how long something takes."""
    started = perf_counter()
    do()
    return perf_counter() - started


def beside(what: str, ours: Callable[[], Any], bare: Callable[[], Any], times: int = 5) -> float:
    """Do ours and the baseline in turn; print both medians and give their ratio."""
    pairs = [(seconds(ours), seconds(bare)) for _ in range(times)]
    mine, plain = (median(each) for each in zip(*pairs, strict=True))
    print(f"\n{what}: {_shown(mine)} against {_shown(plain)}, ratio {mine / plain:.2f}")  # noqa: T201
    return mine / plain


def _shown(time: float) -> str:
    return f"{time:.2f} s" if time >= 1 else f"{time * 1000:.1f} ms"


def steps(conn: Connection, do: Callable[[], Any]) -> int:
    """Give the thousands of steps of SQLite's machine that something takes: what it reads.

    The number is the same on a busy machine.
    """
    raw: Any = conn.connection.dbapi_connection
    taken = 0

    def count() -> int:
        nonlocal taken
        taken += 1
        return 0

    raw.set_progress_handler(count, 1000)
    do()
    raw.set_progress_handler(None, 0)
    return taken
