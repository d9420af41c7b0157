"""Long work on the pages: what is under way, how far it is, its result, and a way to cancel it."""

from __future__ import annotations

from time import monotonic, sleep
from typing import TYPE_CHECKING, Any, cast

from flask import Blueprint, current_app, jsonify, redirect, render_template, send_file, url_for

from recondition.book import trail
from recondition.book.roles import Right
from recondition.web.entry import done, scripted
from recondition.web.long_work import KINDS
from recondition.web.running import Jobs, NoSuchJob, State
from recondition.web.visit import EXTENSION, hold, may, needs, the_book, visit

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from flask import Response
    from flask.blueprints import BlueprintSetupState
    from flask.typing import ResponseReturnValue

    from recondition.book.logins import Login
    from recondition.web.long_work import Outcome
    from recondition.web.running import Job

pages = Blueprint("jobs", __name__)
JOBS = "recondition-jobs"
DOWNLOADED = "downloaded"
_CANCEL_SECONDS = 2.0
_LOOK_SECONDS = 0.02


@pages.record
def _prepared(state: BlueprintSetupState) -> None:
    """Give the application its line of long work."""
    state.app.extensions[JOBS] = Jobs(state.app.extensions[EXTENSION])


def the_jobs() -> Jobs:
    """Give the long work of this server."""
    return cast("Jobs", current_app.extensions[JOBS])


def start(
    kind: str, arguments: Mapping[str, Any], login: Login,
    lay: Callable[[Path], object] | None = None,
) -> str:  # fmt: skip
    """Have long work done in a process of its own; give its id, for ``page_of``.

    ``kind`` is one of ``long_work.KINDS``, ``arguments`` what the function of ``works`` takes
    (plain values), ``login`` whose work it is; ``lay`` puts files into its folder before it
    begins. Raises NotForThisRole, TooMuchAtOnce.
    """
    hold(*KINDS[kind].rights)
    return the_jobs().start(kind, arguments, login, lay)


def page_of(job: str) -> str:
    """Give the address of the page of some work."""
    return url_for("jobs.one", job_id=job)


def begun(job: str) -> ResponseReturnValue:
    """Answer a form that had long work begun: its page; to a script where to look."""
    to = page_of(job)
    return (jsonify({"said": [], "to": to}), 202) if scripted() else redirect(to, 303)


def mine(job_id: str) -> Job:
    """Give work of whoever is asking; of anybody to who manages the logins.

    Raises NoSuchJob, NotForThisRole where the role has changed since.
    """
    job = the_jobs().one(job_id)
    if job.login.id != visit().signed_in.login.id and not may(Right.MANAGE):
        raise NoSuchJob
    hold(*job.of.rights)
    return job


def outcome_of(job_id: str) -> Outcome | None:
    """Give what work gave back, None while it has not. Raises NoSuchJob, NotForThisRole."""
    return mine(job_id).outcome


@pages.get("/jobs")
@needs()
def every() -> ResponseReturnValue:
    """List long work: one's own, or all to whoever manages the logins."""
    return render_template("web/jobs.html.j2", jobs=seen_now())


def seen_now() -> list[Job]:
    """Give the work that whoever is asking may see, the newest first."""
    own = visit().signed_in.login.id
    seen = [job for job in the_jobs().every() if job.login.id == own or may(Right.MANAGE)]
    return [job for job in seen if may(*job.of.rights)]


@pages.get("/jobs/<job_id>")
@needs()
def one(job_id: str) -> ResponseReturnValue:
    """Show how far some work is, or what came of it; to a script in figures."""
    job = mine(job_id)
    ahead = ahead_of(job)
    if scripted():
        return jsonify({
            "state": job.state.value, "ended": job.state.ended, "words": job.words,
            "done": job.done, "total": job.total, "ahead": ahead,
            "file": url_for("jobs.file", job_id=job.id) if job.file else None,
            "said": list(job.outcome.said) if job.outcome else [],
            "refused": job.refused,
        })  # fmt: skip
    if job.of.onward and job.outcome is not None:
        return redirect(job.outcome.to, 303)
    return render_template("web/job.html.j2", job=job, ahead=ahead)


def ahead_of(job: Job) -> int:
    """Count what goes before some work; none where it does not wait."""
    return the_jobs().ahead(job) if job.state is State.WAITING else 0


@pages.post("/jobs/<job_id>/cancel")
@needs()
def cancel(job_id: str) -> ResponseReturnValue:
    """Cancel work that waits or is under way."""
    return done([cancelled(mine(job_id))], page_of(job_id))


def cancelled(job: Job) -> str:
    """Cancel work that waits or is under way, wait a little for its end, and say how it stands."""
    if job.state.ended:
        return "It had ended before."
    the_jobs().cancel(job)
    until = monotonic() + _CANCEL_SECONDS
    while not job.state.ended and monotonic() < until:
        sleep(_LOOK_SECONDS)
    said = job.state.value if job.state.ended else "being cancelled"
    return f"{job.of.title}: {said}."


@pages.get("/jobs/<job_id>/file")
@needs()
def file(job_id: str) -> ResponseReturnValue:
    """Hand out the finished file of some work, which the trail notes."""
    return handed_out(mine(job_id))


def handed_out(job: Job) -> Response:
    """Give the finished file of some work, and note it on the trail. Raises NoSuchJob."""
    path = job.file
    if path is None or not path.is_file():
        raise NoSuchJob
    asker = visit()
    trail.noted(
        the_book(), action=DOWNLOADED, subject=path.name, login_id=asker.signed_in.login.id,
        address=asker.address,
    )  # fmt: skip
    answer = send_file(
        path, as_attachment=True, download_name=path.name, conditional=False, etag=False
    )
    answer.headers["Cache-Control"] = "no-store"
    return answer
