"""Doing something in a child process with little memory and a limit of time, to see how it ends.

The child is a fork, so that nothing is imported again; it may take ``ROOM_BYTES`` more than what
this process holds already, and so many seconds of the processor.
"""

from __future__ import annotations

import os
import pickle
import resource
import select
import signal
import time
import traceback
import warnings
from typing import TYPE_CHECKING

from tests.running import Ran, run, told

if TYPE_CHECKING:
    from collections.abc import Callable

ROOM_BYTES = 1024**3
SECONDS_MAX = 20
# A busy machine gives a process a part of its time; only waiting without end takes as long.
WAITING = 5


def confined(do: Callable[[], None], *, seconds: int = SECONDS_MAX) -> Ran:
    """Do something in a confined child; give what it printed, and what it raised as words.

    Fails where it takes longer, or dies.
    """
    return _forked(lambda: told(do), seconds)


def ran(line: str, *, seconds: int = SECONDS_MAX) -> Ran:
    """Run a line of the command in a confined child."""
    return _forked(lambda: run(line), seconds)


def refused(line: str, *, seconds: int = SECONDS_MAX) -> str:
    """Run a line that must be refused in words; give them."""
    found = ran(line, seconds=seconds)
    assert found.status in {1, 2, 3}, f"{line}\n{found.out}{found.err}"
    assert "went wrong inside" not in found.err, found.err
    assert "Traceback" not in found.err, found.err
    return found.out + found.err


def _forked(do: Callable[[], Ran], seconds: int) -> Ran:
    reads, writes = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        child = os.fork()
    if not child:
        os.close(reads)
        _as_child(do, writes, seconds)
    os.close(writes)
    try:
        return pickle.loads(_told(reads, seconds * WAITING))  # noqa: S301 - our own child
    finally:
        os.close(reads)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)


def _as_child(do: Callable[[], Ran], writes: int, seconds: int) -> None:
    """Do it with little memory, tell the parent, and end at once."""
    most = _held_bytes() + ROOM_BYTES
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    try:
        found = do()
    except BaseException:  # noqa: BLE001 - whatever it is, the parent shall see it
        found = Ran(-1, "", traceback.format_exc())
    with os.fdopen(writes, "wb") as pipe:
        pipe.write(pickle.dumps(found))
    os._exit(0)


def _held_bytes() -> int:
    """Give the address space of this process."""
    with open("/proc/self/statm", encoding="ascii") as file:  # noqa: PTH123 - no path of ours
        return int(file.read().split()[0]) * resource.getpagesize()


def _told(reads: int, seconds: int) -> bytes:
    """Read what the child tells, within the time."""
    told_, end = b"", time.monotonic() + seconds
    while True:
        left = end - time.monotonic()
        ready, _, _ = select.select([reads], [], [], max(0, left))
        assert ready, f"it took more than {seconds} seconds"
        block = os.read(reads, 1 << 20)
        if not block:
            assert told_, "it died"
            return told_
        told_ += block
