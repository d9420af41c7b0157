"""A progress bar for long work, on a terminal only."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from fractions import Fraction

Progress = Callable[[str, int, int | None], None]


@contextmanager
def shown_progress() -> Iterator[Progress]:
    """Give a function that is told what is being done and how far it is."""
    if not sys.stderr.isatty():
        yield lambda _words, _done, _total: None
        return
    from rich.console import Console  # noqa: PLC0415 - only on a terminal
    from rich.progress import Progress as Bar  # noqa: PLC0415 - as above

    with Bar(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)

        def told(words: str, done: int, total: int | None) -> None:
            bar.update(task, description=words, completed=done, total=total)

        yield told


Closing = Callable[[Fraction, Fraction], None]


@contextmanager
def shown_gap() -> Iterator[Closing]:
    """Give a function that is told the net found and the bound as they close on each other."""
    if not sys.stderr.isatty():
        yield lambda _net, _bound: None
        return
    from rich.console import Console  # noqa: PLC0415 - only on a terminal
    from rich.progress import Progress as Bar  # noqa: PLC0415 - as above

    with Bar(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("searching", total=100)

        def told(net: Fraction, bound: Fraction) -> None:
            gap = float((bound - net) / bound * 100) if bound > 0 else 0.0
            words = f"net {float(net):,.0f}, at most {float(bound):,.0f}, gap {gap:.1f} %"
            bar.update(task, description=words, completed=100 - min(gap, 100))

        yield told
