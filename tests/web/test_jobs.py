"""Long work: its line, its progress, its result for whoever asked for it, and its cancel."""

from __future__ import annotations

import io
import time
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from flask import g
from openpyxl import Workbook, load_workbook

from recondition.amounts import Money
from recondition.book import logins, reading, sessions, trail
from recondition.book.roles import Right
from recondition.intake.problems import ImportRefused
from recondition.reports.table import CellKind, Column, Table
from recondition.web import running, work, works
from recondition.web.carried import plain_table, table_of
from recondition.web.jobs import start
from recondition.web.long_work import KINDS, Task
from recondition.web.running import Jobs, NoSuchJob, State, TooMuchAtOnce
from recondition.web.visit import NotForThisRole, Visit
from tests.web.visitors import PASSWORD, app_of, login_of, post, signed_in
from tests.web.working import awaited, ended, seen

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

    from recondition.book.engine import Book
    from recondition.book.logins import Login

ALL_KINDS = Table(
    "Every kind of cell",
    tuple(Column(kind.value, kind.value, kind) for kind in CellKind),
    (
        ("a", Money(-1234, "USD"), Decimal("0.10"), 7, date(2031, 3, 4), Decimal("0.9")),
        (None, None, None, None, None, None),
    ),
    "A note.",
    ("all", Money(5, "JPY"), None, 0, None, None),
)


def sent(rows: list[list[Any]], sheet: str = "suppliers", name: str = "firms.xlsx") -> Any:
    """Give a workbook as a form sends it."""
    made = Workbook(write_only=True)
    page = made.create_sheet(sheet)
    for row in rows:
        page.append(row)
    content = io.BytesIO()
    made.save(content)
    return io.BytesIO(content.getvalue()), name


BAD = [["ref", "name"], ["", "Nobody"], ["weir", "Weir"], ["weir", "Weir Street"]]
FIRMS = [["ref", "name"], ["tollgate", "Tollgate Trimmers"], ["weir", "Weir Street Plating"]]


def named(book: Book, name: str) -> Login:
    """Give a login by its name."""
    with book.reading() as conn:
        return logins.named(conn, name)


def handed(client: FlaskClient, address: str) -> TestResponse:
    """Take a file, and let go of it on the disk."""
    answer = client.get(address)
    assert answer.status_code == 200
    assert answer.data
    answer.close()
    return answer


@pytest.fixture
def line(shop_book: Book) -> Iterator[tuple[Jobs, Login]]:
    """Give a line of long work of its own, and a login to work for."""
    jobs = Jobs(shop_book)
    yield jobs, named(shop_book, login_of(shop_book, "dealer"))
    jobs.close()


def until(so: Any) -> None:
    """Wait until something is so."""
    end = time.monotonic() + 120
    while not so():
        assert time.monotonic() < end, "it never was"
        time.sleep(0.02)


def test_a_table_goes_over_and_back() -> None:
    assert table_of(plain_table(ALL_KINDS)) == ALL_KINDS


def test_two_work_at_once_and_the_others_wait_in_line(line: tuple[Jobs, Login]) -> None:
    jobs, login = line
    plan = {"vehicles": ["0007", "0012"], "at": "2031-03-01T08:00"}
    made = [jobs.one(jobs.start("plan", plan, login)) for _ in range(4)]
    until(lambda: sum(job.state is State.RUNNING for job in made) == 2)
    assert [jobs.ahead(job) for job in made if job.state is State.WAITING] == [2, 3]
    jobs.cancel(made[3])
    assert made[3].state is State.CANCELLED
    assert made[3].left == KINDS["plan"].left
    for job in made:
        jobs.cancel(job)
    until(lambda: all(job.state.ended for job in made))
    assert {job.state for job in made} == {State.CANCELLED}
    assert all(job.process is None for job in made)


def test_a_login_cannot_fill_the_line(line: tuple[Jobs, Login]) -> None:
    jobs, login = line
    plan = {"vehicles": ["0007"], "at": "2031-03-01T08:00"}
    names = [jobs.start("plan", plan, login) for _ in range(running.OWN_MAX)]
    with pytest.raises(TooMuchAtOnce, match=f"{running.OWN_MAX} pieces"):
        jobs.start("plan", plan, login)
    for name in names:
        jobs.cancel(jobs.one(name))


def test_results_go_after_an_hour_and_the_folder_with_the_server(
    line: tuple[Jobs, Login], monkeypatch: pytest.MonkeyPatch
) -> None:
    jobs, login = line
    job = jobs.one(jobs.start("plan", {"vehicles": ["no such"], "at": "2031-03-01T08:00"}, login))
    folder = job.folder
    assert folder.stat().st_mode & 0o077 == 0
    assert folder.parent.stat().st_mode & 0o077 == 0
    jobs.cancel(job)
    until(lambda: job.state.ended)
    monkeypatch.setattr(running, "monotonic", lambda: time.monotonic() + 3601)
    with pytest.raises(NoSuchJob):
        jobs.one(job.id)
    assert not folder.exists()
    jobs.close()
    assert not folder.parent.exists()


def test_what_ended_takes_no_more_room_than_the_newest_of_it(
    line: tuple[Jobs, Login], monkeypatch: pytest.MonkeyPatch
) -> None:
    jobs, login = line
    monkeypatch.setattr(running, "KEPT_MAX", 2)
    sent_file: Any = {"file": "junk.xlsx", "person": "HK", "role": "dealer"}
    made = []
    for _ in range(3):
        name = jobs.start("check", sent_file, login, lambda place: _junk(place / "junk.xlsx"))
        made.append(jobs.one(name))
        until(lambda: made[-1].state.ended)
    assert not any(job.folder.exists() for job in made)
    assert jobs.every() == made[:0:-1]


def _junk(place: Path) -> None:
    """Write a file that is no workbook."""
    place.write_bytes(b"no workbook")


@pytest.mark.long
def test_a_refusal_of_work_is_said_on_its_page(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    page, now = ended(client, post(client, "/import", workbook=sent(BAD)))
    assert now["state"] == State.REFUSED.value
    assert "2 problems" in now["refused"]["what"]
    shown = client.get(page).get_data(as_text=True)
    assert all(f"row {row}" in shown for row in (2, 4))
    assert "nothing was written" in shown
    assert "Take this file in" not in shown


@pytest.mark.long
def test_a_workbook_is_checked_then_taken_in_once(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    page, now = ended(client, post(client, "/import", workbook=sent(FIRMS)))
    assert "Checked only: nothing was written." in now["said"]
    with shop_book.reading() as conn:
        assert "tollgate" not in reading.all_refs(conn, "supplier")
    job = page.rsplit("/", 1)[1]
    assert f"/import/{job}/enter" in client.get(page).get_data(as_text=True)
    _, now = ended(client, post(client, f"/import/{job}/enter"))
    assert "2 rows were written." in now["said"]
    with shop_book.reading() as conn:
        assert {"tollgate", "weir"} <= set(reading.all_refs(conn, "supplier"))


def test_a_download_is_whole_and_marked_and_noted(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    begun = post(client, "/books/downloads", what="journal", period="2031-02", vehicle="0007")
    page, now = ended(client, begun)
    assert now["said"][1] == "Batch EX-001. It is the first of its kind."
    file = handed(client, now["file"])
    day = shop_book.now().astimezone().date().isoformat()
    name = f"journal-of-2031-02-vehicle-0007-{day}.csv"
    assert file.headers["Content-Disposition"] == f"attachment; filename={name}"
    assert file.headers["Cache-Control"] == "no-store"
    assert file.data.startswith(b"entry,period,date,document")
    with shop_book.reading() as conn:
        noted = trail.listed(conn, limit=1)[0]
    assert (noted.action, noted.subject, noted.login) == ("downloaded", name, "bookkeeper login")
    # Nobody else's login sees it; whoever manages the logins does.
    other = logins.add(shop_book, "second", named(shop_book, "bookkeeper login").role,
                       named(shop_book, "bookkeeper login").person, by=None)  # fmt: skip
    logins.set_password(shop_book, other, "six clean buckets in a row")
    stranger = client.application.test_client()
    post(stranger, "/sign-in", name="second", password="six clean buckets in a row")  # noqa: S106
    assert stranger.get(page).status_code == 404
    assert stranger.get(now["file"]).status_code == 404
    assert handed(signed_in(shop_book, "dealer"), now["file"]).data == file.data
    preparer = signed_in(shop_book, "preparer")
    assert preparer.get(now["file"]).status_code == 404
    assert post(preparer, "/books/downloads", what="journal").status_code == 403


def test_what_cannot_be_handed_out_is_said_before_anything_begins(shop_book: Book) -> None:
    client = signed_in(shop_book, "bookkeeper")
    for fields, words in (
        ({"what": "everything"}, "nothing that the books hand out"),
        ({"what": "journal", "period": "spring"}, "is not a period"),
        ({"what": "journal", "vehicle": "9999"}, "there is no vehicle"),
        ({"what": "lines", "columns": (io.BytesIO(b"\xff\xfe"), "map.csv")}, "no text"),
    ):
        answer = post(client, "/books/downloads", **fields)
        assert answer.status_code in (400, 404, 422), fields
        assert words in answer.get_data(as_text=True)
    answer = post(client, "/import", workbook=(io.BytesIO(b"x"), "notes.txt"))
    assert answer.status_code == 400
    assert "notes.txt is no workbook" in answer.get_data(as_text=True)
    assert "No long work is under way" in client.get("/jobs").get_data(as_text=True)


def test_work_that_a_role_may_not_have_done_is_not_begun(shop_book: Book) -> None:
    client = signed_in(shop_book, "seller")
    cookie = client.get_cookie("recondition")
    assert cookie is not None
    session = sessions.visiting(shop_book, cookie.value)
    assert session is not None
    with client.application.test_request_context("/"):
        g.visit = Visit(session, "")
        for kind in ("plan", "workbook", "journal", "lines", "check", "import"):
            with pytest.raises(NotForThisRole):
                start(kind, {}, session.login)
    assert KINDS["work history"].rights == (Right.RELEASE,)


def test_every_problem_of_a_workbook_goes_over_to_the_page(shop_book: Book, tmp_path: Path) -> None:
    content, name = sent(BAD)
    (tmp_path / name).write_bytes(content.getvalue())
    told: list[str] = []
    given = {"file": name, "person": "IC", "role": "dealer", "login": None, "address": ""}
    task = Task(
        book=shop_book, arguments=given, folder=tmp_path, told=lambda words, *_: told.append(words)
    )
    with pytest.raises(ImportRefused) as caught:
        works.checked(task)
    plain = work._refusal(caught.value)  # noqa: SLF001 - what the process writes
    assert plain["what"] == "firms.xlsx has 2 problems; nothing was written."
    assert [line.split(":")[0] for line in plain["more"]] == [
        "suppliers, row 2, ref (column A)", "suppliers, row 4, ref (column A)",
    ]  # fmt: skip
    assert told


@pytest.mark.long
def test_an_import_that_is_cancelled_leaves_nothing(shop_book: Book) -> None:
    client = signed_in(shop_book, "dealer")
    rows = [FIRMS[0], *([f"firm-{n}", f"Firm {n}"] for n in range(4_000))]
    page, _ = ended(client, post(client, "/import", workbook=sent(rows)))
    with shop_book.reading() as conn:
        before = reading.heads(conn)
    begun = post(client, f"/import/{page.rsplit('/', 1)[1]}/enter")
    awaited(client, begun.location, lambda now: now["words"].startswith("writing") and now["done"])
    assert post(client, f"{begun.location}/cancel").status_code == 303
    now = awaited(client, begun.location, lambda now: now["ended"])
    assert now["state"] == State.CANCELLED.value
    with shop_book.reading() as conn:
        assert reading.heads(conn) == before
    shown = client.get(begun.location).get_data(as_text=True)
    assert "All of it is in the book or nothing" in shown
    # The book takes the next entry at once.
    _, now = ended(client, post(client, "/import", workbook=sent(FIRMS)))
    assert now["state"] == State.DONE.value


@pytest.mark.long
def test_a_cancel_after_the_batch_was_marked_names_it(line: tuple[Jobs, Login]) -> None:
    jobs, login = line
    given = {"what": "lines", "person": login.person, "file": "lines.csv"}
    job = jobs.one(jobs.start("lines", given, login))
    until(lambda: job.state.ended)
    assert job.outcome is not None
    # As if the process had been ended between the mark and its last word.
    job.outcome, job.cancelled = None, True
    jobs._end(job, State.CANCELLED)  # noqa: SLF001 - that moment cannot be met from outside
    assert job.left == (
        "No file was handed out. The cancel came after Batch EX-001 was noted: it stands."
    )


@pytest.mark.long
def test_several_vehicles_are_planned_as_the_command_does(line: tuple[Jobs, Login]) -> None:
    jobs, login = line
    given = {"vehicles": ["0007", "0012"], "at": "2031-04-08T08:00", "cash": "900", "seconds": 20}
    job = jobs.one(jobs.start("plan", given, login))
    until(lambda: job.state.ended)
    assert job.refused is None
    assert job.outcome is not None
    assert "of a purse of 900.00" in job.outcome.said[0]
    titles = [table.title for table in job.outcome.tables]
    assert titles[:2] == ["Vehicles, the most net for an hour first", "Which vehicle when"]


@pytest.mark.long
def test_the_processes_end_with_a_server_that_is_killed(shop_book: Book, tmp_path: Path) -> None:
    from tests.web.serving import browser, served_process, tab  # noqa: PLC0415 - a browser
    from tests.web.visitors import PASSWORD  # noqa: PLC0415 - as above

    name = login_of(shop_book, "bookkeeper")
    big = tmp_path / "firms.xlsx"
    rows = [FIRMS[0], *([f"firm-{n}", f"Firm {n}"] for n in range(40_000))]
    big.write_bytes(sent(rows)[0].getvalue())
    with served_process(shop_book.location) as serving, browser() as started:
        page = tab(started)
        page.set_default_timeout(60_000)
        page.goto(serving.url + "/sign-in")
        page.fill("#name", name)
        page.fill("#password", PASSWORD)
        page.click("main button")
        page.wait_for_url("**/books")
        page.goto(serving.url + "/import")
        page.set_input_files("#workbook", str(big))
        page.click("text=Check it")
        page.wait_for_url("**/jobs/*")
        seen(page, "document.querySelector('[data-job-words]')?.innerText.includes('so far')")
        children = children_of(serving.process.pid)
        assert len(children) == 1
        serving.kill()
        until(lambda: not any(Path(f"/proc/{child}/cmdline").exists() for child in children))


def children_of(parent: int) -> list[int]:
    """Find the processes that another one started for long work."""
    found = []
    for place in Path("/proc").glob("[0-9]*"):
        try:
            above = int((place / "stat").read_text().rpartition(")")[2].split()[1])
            line = (place / "cmdline").read_text()
        except OSError:
            continue
        if above == parent and "recondition.web.work" in line:
            found.append(int(place.name))
    return found


def test_the_blank_of_a_login_that_sets_nothing_has_no_settings_to_be_refused(
    empty_book: Book,
) -> None:
    first = app_of(empty_book).test_client()
    fields = {"name": "first", "person": "MR", "full_name": "Mara Rell"}
    fields |= dict.fromkeys(("password", "again"), PASSWORD)
    assert post(first, "/begin/begin-here", **fields).status_code == 302
    for role, sets in (("bookkeeper", False), ("dealer", True)):
        client = signed_in(empty_book, role)
        blank = client.get("/import/blank.xlsx").data
        filled = load_workbook(io.BytesIO(blank))
        assert any(row[0].value for row in filled["settings"].iter_rows(min_row=2)) is sets
        filled["suppliers"].append(["HARBOUR", "Harbour Supplies"])
        content = io.BytesIO()
        filled.save(content)
        sent = (io.BytesIO(content.getvalue()), "own.xlsx")
        _, end = ended(client, post(client, "/import", workbook=sent))
        assert not end["refused"], end
