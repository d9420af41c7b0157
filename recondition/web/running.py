"""Long work under way: processes of the server, each with its line, its progress and its end.

At most RUNNING_MAX work at once, others wait in line. A finished file or result is kept for
KEPT, the newest KEPT_MAX of each login, in a folder that only the server's user can read and that
goes with the server; what a killed server left is swept by the next one.
"""

from __future__ import annotations

import atexit
import json
import os
import secrets
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field
from datetime import timedelta
from enum import StrEnum
from pathlib import Path
from queue import Empty, Queue
from shutil import rmtree
from threading import RLock, Thread
from time import monotonic
from typing import TYPE_CHECKING, Any

from recondition.book.logins import Login
from recondition.book.workplace import workplace
from recondition.errors import Refused
from recondition.web.long_work import KINDS, Kind, Outcome
from recondition.web.told import mistake_words, told_to

if TYPE_CHECKING:
    from recondition.book.engine import Book

RUNNING_MAX = 2
WAITING_MAX = 20
OWN_MAX = 5
KEPT, KEPT_MAX = timedelta(hours=1), 20
_LOOK_SECONDS = 30.0
_END_SECONDS = 5.0
_COMMAND = (sys.executable, "-P", "-m", "recondition.web.work")


class State(StrEnum):
    """What has become of a piece of long work."""

    WAITING = "waiting in line"
    RUNNING = "under way"
    DONE = "done"
    REFUSED = "not done"
    CANCELLED = "cancelled"

    @property
    def ended(self) -> bool:
        """Whether nothing more comes of it."""
        return self not in (State.WAITING, State.RUNNING)


class TooMuchAtOnce(Refused):
    """More long work is asked for than is kept in line."""

    http_status = 429

    def __init__(self, number: int) -> None:
        """Say how much is waiting or under way."""
        super().__init__(
            f"{number} pieces of long work are under way or waiting already",
            todo="Nothing was begun. Let one of them end, or cancel it, and ask again.",
        )


class NoSuchJob(Refused):
    """Long work that is not known, or somebody else's."""

    http_status = 404

    def __init__(self) -> None:
        """Say how long results are kept."""
        super().__init__(
            "there is no such work (any more)",
            todo="Results are kept for an hour, and not over a new start of the server. Have it "
            "done again.",
        )


@dataclass(slots=True)
class Job:
    """One piece of long work. What the pages read is set whole, one field at a time."""

    id: str
    kind: str
    arguments: Mapping[str, Any]
    login: Login
    folder: Path
    state: State = State.WAITING
    words: str = ""
    done: int = 0
    total: int | None = None
    outcome: Outcome | None = None
    refused: Mapping[str, Any] | None = None
    left: str = ""
    cancelled: bool = False
    ended_at: float | None = None
    process: subprocess.Popen[str] | None = field(default=None, repr=False)
    marked: frozenset[str] = frozenset()

    @property
    def of(self) -> Kind:
        """Its kind."""
        return KINDS[self.kind]

    @property
    def file(self) -> Path | None:
        """The finished file, where there is one."""
        named = self.outcome.file if self.outcome else ""
        return self.folder / named if named else None

    def tell(self, line: Mapping[str, Any]) -> None:
        """Take in a line that its process wrote."""
        if "told" in line:
            self.words, self.done, self.total = line["told"]
        elif "done" in line:
            self.outcome = Outcome.of(line["done"])
        else:
            self.refused = line["refused"]


_GONE = {
    "what": "The process that did this ended before it was done.", "where": "",
    "todo": "Whatever writes is kept whole or not at all. Ask again; where it goes wrong again, "
    "look at what the server printed.", "more": [],
}  # fmt: skip


class Jobs:
    """The long work of one server."""

    def __init__(self, book: Book) -> None:
        """Work on a book; nothing is begun and no folder made before work is asked for."""
        self._book = book
        self._jobs: dict[str, Job] = {}
        self._line: Queue[Job | None] = Queue()
        self._lock = RLock()
        self._folder: Path | None = None
        self._open = ExitStack()

    def start(
        self, kind: str, arguments: Mapping[str, Any], login: Login,
        lay: Callable[[Path], object] | None = None,
    ) -> str:  # fmt: skip
        """Put work in line; give its id. ``lay`` puts files into its folder first.

        Raises TooMuchAtOnce.
        """
        with self._lock:
            open_ = [job for job in self._jobs.values() if not job.state.ended]
            own = [job for job in open_ if job.login.id == login.id]
            if len(open_) >= WAITING_MAX or len(own) >= OWN_MAX:
                raise TooMuchAtOnce(len(own) if len(own) >= OWN_MAX else len(open_))
            name = secrets.token_urlsafe(12)
            job = Job(name, kind, dict(arguments), login, self._place() / name)
            job.folder.mkdir(mode=0o700)
            self._jobs[name] = job
        try:
            if lay is not None:
                lay(job.folder)
        except BaseException:
            self._forget(job)
            raise
        self._line.put(job)
        return name

    def one(self, name: str) -> Job:
        """Give a piece of work by its id. Raises NoSuchJob."""
        with self._lock:
            self._sweep()
            if name not in self._jobs:
                raise NoSuchJob
            return self._jobs[name]

    def every(self) -> list[Job]:
        """Give all work that is known, the newest first."""
        with self._lock:
            self._sweep()
            return list(reversed(self._jobs.values()))

    def ahead(self, job: Job) -> int:
        """Count what goes before work that waits."""
        with self._lock:
            names = list(self._jobs)
            before = (self._jobs[name] for name in names[: names.index(job.id)])
            return sum(not each.state.ended for each in before)

    def cancel(self, job: Job) -> None:
        """End work that waits or is under way; what has ended stays as it is."""
        with self._lock:
            if job.state is State.WAITING:
                self._end(job, State.CANCELLED)
            elif job.process is not None:
                job.cancelled = True
                job.process.terminate()

    def close(self) -> None:
        """End everything, and take the folder away."""
        with self._lock:
            for job in self._jobs.values():
                if job.process is not None:
                    job.process.kill()
            for _ in range(RUNNING_MAX):
                self._line.put(None)
            self._open.close()

    def _place(self) -> Path:
        """Give the folder of all work; the first time it is made, and the workers with it."""
        if self._folder is None:
            beside = Path(tempfile.gettempdir())
            self._folder = self._open.enter_context(workplace(beside, "work"))
            atexit.register(self.close)
            for _ in range(RUNNING_MAX):
                Thread(target=self._work, daemon=True).start()
        return self._folder

    def _work(self) -> None:
        """Do one piece of work after another, until there is no more to come."""
        while True:
            try:
                job = self._line.get(timeout=_LOOK_SECONDS)
            except Empty:
                with self._lock:
                    self._sweep()
                continue
            if job is None:
                return
            self._run(job)

    def _run(self, job: Job) -> None:
        """Do one piece of work in a process of its own, and wait for its end."""
        try:
            job.marked = self._marks(job)
            with self._lock:
                if job.state is not State.WAITING:
                    return
                job.process = process = self._begun(job)
                job.state = State.RUNNING
            self._followed(job, process)
        except Exception as error:  # noqa: BLE001 - whatever it was, the next work goes on
            why = error.what if isinstance(error, Refused) else mistake_words(error)[0]
            why = told_to(job.login, self._book, job.folder, why)
            job.refused = dict(_GONE, what=f"This could not be done: {why}")
        with self._lock:
            job.process = None
            if job.outcome is not None:
                self._end(job, State.DONE)
            elif job.cancelled and job.refused is None:
                self._end(job, State.CANCELLED)
            else:
                job.refused = job.refused or _GONE
                self._end(job, State.REFUSED)

    def _begun(self, job: Job) -> subprocess.Popen[str]:
        """Start the process of some work and tell it what to do."""
        asked = {
            "kind": job.kind, "arguments": dict(job.arguments), "folder": str(job.folder),
            "location": self._book.location, "files": str(self._book.files),
        }  # fmt: skip
        beside = job.folder / "beside"
        beside.mkdir(mode=0o700)
        process = subprocess.Popen(  # noqa: S603 - our own module
            _COMMAND, text=True, encoding="utf-8", stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            env={**os.environ, "TMPDIR": str(beside)},
        )  # fmt: skip
        assert process.stdin is not None  # noqa: S101 - it was asked for
        with suppress(BrokenPipeError):
            process.stdin.write(json.dumps(asked) + "\n")
            process.stdin.flush()
        return process

    def _followed(self, job: Job, process: subprocess.Popen[str]) -> None:
        """Take in what a process tells until it has ended."""
        assert process.stdin is not None  # noqa: S101 - as above
        assert process.stdout is not None  # noqa: S101 - as above
        for line in process.stdout:
            job.tell(told_to(job.login, self._book, job.folder, json.loads(line)))
        with suppress(BrokenPipeError):
            process.stdin.close()
        process.stdout.close()
        try:
            process.wait(_END_SECONDS)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()

    def _end(self, job: Job, state: State) -> None:
        """Note how work ended, and let go of what it was given."""
        if state is State.CANCELLED:
            job.left = self._left(job)
        job.arguments = {key: job.arguments[key] for key in job.arguments if key != "passphrase"}
        job.ended_at, job.state = monotonic(), state
        if job.kind == "import" or (job.kind == "check" and state is not State.DONE):
            rmtree(job.folder, ignore_errors=True)
        ended = [j for j in self._jobs.values() if j.login.id == job.login.id and j.state.ended]
        for old in ended[:-KEPT_MAX]:
            self._forget(old)

    def _marks(self, job: Job) -> frozenset[str]:
        """Name what work of this kind has noted in the book by now."""
        if not job.of.marks:
            return frozenset()
        from recondition.web import works  # noqa: PLC0415 - only where something is noted

        with self._book.reading() as conn:
            return frozenset(getattr(works, job.of.marks)(conn, job.arguments))

    def _left(self, job: Job) -> str:
        """Say what cancelled work leaves: what it noted at its very end stands."""
        try:
            more = sorted(self._marks(job) - job.marked) if job.words else []
        except Refused as refused:
            return f"{job.of.left} What it may have noted cannot be told: {refused.what}"
        if not more:
            return job.of.left
        return f"{job.of.left} The cancel came after {' and '.join(more)} was noted: it stands."

    def _sweep(self) -> None:
        """Forget what ended long ago, with its files."""
        limit = monotonic() - KEPT.total_seconds()
        for job in [j for j in self._jobs.values() if j.ended_at is not None]:
            if job.ended_at is not None and job.ended_at < limit:
                self._forget(job)

    def _forget(self, job: Job) -> None:
        """Forget work, with its files."""
        with self._lock:
            self._jobs.pop(job.id, None)
        rmtree(job.folder, ignore_errors=True)
