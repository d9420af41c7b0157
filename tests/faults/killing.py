"""Kills a process at a random moment of what it does, and says how far it was."""

from __future__ import annotations

import multiprocessing
import os
import time
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING
from unittest.mock import patch

from tests.faults import deeds
from tests.faults.deeds import KEEPING, KEPT

if TYPE_CHECKING:
    from multiprocessing.connection import Connection as Pipe
    from multiprocessing.context import ForkServerContext
    from random import Random

    from tests.faults.deeds import Site

WAIT_SECONDS = 60.0
_WORDS = {KEEPING: "during", KEPT: "after"}


def warm() -> ForkServerContext:
    """Start the process whose children do the deeds; it has loaded all that they need."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([deeds.__name__])
    from multiprocessing import forkserver  # noqa: PLC0415 - started with a path of its own

    with patch.dict(os.environ, PYTHONPATH=str(Path(__file__).parents[2])):
        forkserver.ensure_running()
    return context


@dataclass(frozen=True)
class Length:
    """How long a deed takes that is left alone: all of it, and each time it keeps something."""

    seconds: float
    keeping: tuple[float, ...]


@dataclass(frozen=True)
class Aim:
    """When to kill: so many seconds after a deed began, or after it began to keep for a time."""

    after: float
    keeping: int | None = None

    @classmethod
    def drawn(cls, draw: Random, length: Length) -> Aim:
        """Draw a moment: every other one over the whole length, the others about the keeping."""
        if not length.keeping or draw.random() < 0.5:
            return cls(draw.uniform(0, length.seconds))
        which = draw.randrange(len(length.keeping))
        return cls(draw.uniform(0, 1.5 * length.keeping[which]), which)


@dataclass(frozen=True)
class Killed:
    """How a deed ended: where the kill met it, and the exit status of one that was not met.

    ``where`` is before, during or after keeping; a deed that keeps several times is at work again
    after each.
    """

    where: str
    length: Length
    status: int | None


def run(context: ForkServerContext, deed: str, site: Site, aim: Aim | None = None) -> Killed:
    """Do a deed in a process of its own and kill it at a moment; without one it is left alone."""
    ours, theirs = context.Pipe(duplex=False)
    process = context.Process(target=deeds.child, args=(deed, site, theirs))
    process.start()
    theirs.close()
    assert ours.poll(WAIT_SECONDS), f"{deed} did not begin"
    assert ours.recv() == "begun"
    heard = _Heard()
    heard.listen(ours, aim or Aim(WAIT_SECONDS))
    process.kill()
    process.join()
    process.close()
    ours.close()
    where = _WORDS.get(site.state.read_bytes(), "before") if heard.status is None else "after"
    return Killed(where, heard.length(), heard.status)


class _Heard:
    """What a process says of how far it is."""

    def __init__(self) -> None:
        self.status: int | None = None
        self._began = time.perf_counter()
        self._times: list[tuple[str, float]] = []

    def listen(self, pipe: Pipe, aim: Aim) -> None:
        """Listen until the moment of the kill, or the end of the deed."""
        until = self._began + (aim.after if aim.keeping is None else WAIT_SECONDS)
        begun = 0
        try:
            while pipe.poll(max(until - time.perf_counter(), 0)):
                said = pipe.recv()
                self._times.append((said, time.perf_counter()))
                if isinstance(said, int):
                    self.status = said
                    return
                if said == "keeping":
                    if begun == aim.keeping:
                        until = time.perf_counter() + aim.after
                    begun += 1
        except EOFError:
            self.status = -1

    def length(self) -> Length:
        """Give how long it took, and each keeping of it."""
        spans = pairwise(self._times)
        keeping = (after - at for (said, at), (_, after) in spans if said == "keeping")
        return Length(time.perf_counter() - self._began, tuple(keeping))
