"""A progress bar for long work, on a terminal only."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

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
