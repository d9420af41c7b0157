"""A book on a server that goes away, cuts a connection, or lets nobody in."""

from __future__ import annotations

from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import psycopg
import pytest
from sqlalchemy import text

from recondition.book import again
from recondition.book.again import NotKnownWhetherKept
from recondition.book.engine import open_book
from recondition.book.errors import BookNotWritable, ServerSilent
from tests.faults import deeds, verifying
from tests.faults.engines import OnServer, Template, site_of
from tests.faults.test_disks import commands
from tests.faults.test_strange import words
from tests.faults.yard import shop_of
from tests.postgres import started
from tests.running import run

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Iterator
    from typing import Any

    from sqlalchemy import Connection

    from recondition.book.engine import Book
    from tests.faults.deeds import Site
    from tests.postgres import Databases

pytestmark = pytest.mark.long
KILL = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = %s"


@pytest.fixture(scope="module")
def server_shop(
    new_database: Databases, tmp_path_factory: pytest.TempPathFactory
) -> tuple[OnServer, Template, Counter[str]]:
    """Make the small book on a server once."""
    folder = tmp_path_factory.mktemp("served") / "own"
    ground = OnServer(new_database, prefix="faults")
    location, before = shop_of(ground, folder)
    return ground, Template(location, folder), before


@pytest.fixture
def served(
    server_shop: tuple[OnServer, Template, Counter[str]], tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[Site]:  # fmt: skip
    """Stand as a user with a copy of it."""
    ground, template, _ = server_shop
    site = site_of(ground, template, tmp_path / "site")
    monkeypatch.setenv("RECONDITION_BOOK", site.location)
    monkeypatch.setenv("RECONDITION_FILES", str(site.files))
    monkeypatch.setenv("RECONDITION_PERSON", deeds.PERSON)
    yield site
    ground.drop(site.location)


@contextmanager
def cut(site: Site) -> Iterator[Connection]:
    """Write in a book whose connection is cut before the work is kept."""
    book = open_book(site.location)
    name = book.engine.url.database
    with book.writing() as conn:
        yield conn
        with psycopg.connect(_other(site.location, "postgres"), autocommit=True) as other:
            other.execute(KILL, (name,))


def _other(location: str, name: str) -> str:
    """Name another database of the same server."""
    head, _, tail = location.partition("?")
    return f"{head.rpartition('/')[0]}/{name}?{tail}"


def test_a_connection_that_is_cut_at_the_end_leaves_it_open_whether_it_was_kept(
    served: Site, server_shop: tuple[OnServer, Template, Counter[str]]
) -> None:
    with pytest.raises(NotKnownWhetherKept), cut(served) as conn:
        conn.execute(text("UPDATE chain_head SET count = count WHERE false"))
    with verifying.opened(served) as book:
        assert verifying.sound(book) == server_shop[2]


def test_a_connection_that_is_cut_between_statements_is_told(
    served: Site, server_shop: tuple[OnServer, Template, Counter[str]]
) -> None:
    work = cut(served)
    with pytest.raises(ServerSilent, match=r"server of .* cannot be reached"):
        _work_on(work)
    with verifying.opened(served) as book:
        assert verifying.sound(book) == server_shop[2]
    assert run(words(commands(served)["posting"])).status == 0


def _work_on(work: Any) -> None:
    """Ask once more after the connection was cut."""
    with work as conn:
        name = conn.engine.url.database
        with psycopg.connect(_other(_shown(conn), "postgres"), autocommit=True) as other:
            other.execute(KILL, (name,))
        conn.execute(text("SELECT count(*) FROM record"))


def _shown(conn: Connection) -> str:
    return conn.engine.url.render_as_string(hide_password=False).replace("+psycopg", "")


def test_every_command_says_that_the_server_is_gone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    server = started()
    stopped = False
    try:
        name = str(server.get_uri())
        server.psql('CREATE DATABASE "gone";')
        ground = OnServer(lambda _name: name.replace("/postgres?", "/gone?"))
        location, _ = shop_of(ground, tmp_path / "own")
        site = deeds.Site(location, tmp_path / "own" / "files", tmp_path / "own")
        site.made.mkdir()
        monkeypatch.setenv("RECONDITION_BOOK", location)
        monkeypatch.setenv("RECONDITION_FILES", str(site.files))
        monkeypatch.setenv("RECONDITION_PERSON", deeds.PERSON)
        assert run("recondition vehicle list").status == 0
        book = open_book(location)
        files = sorted(site.files.rglob("*"))
        _wrong_password(server, location)
        with pytest.raises(ServerSilent):
            stopped = _stopped_at_work(server, book)
        stopped = True
        for line in ("recondition vehicle list", *map(words, commands(site).values())):
            ran = run(line)
            assert ran.status == 1, (line, ran)
            assert "the server of " in ran.err
            assert "cannot be reached" in ran.err
            assert "Traceback" not in ran.err
        assert list(site.made.iterdir()) == []
        assert sorted(site.files.rglob("*")) == files
    finally:
        if not stopped:
            server.cleanup()


def _stopped_at_work(server: Any, book: Book) -> bool:
    """Stop the server between two statements of one piece of work."""
    with book.writing() as conn:
        server.cleanup()
        conn.execute(text("SELECT count(*) FROM record"))
    return True


def _wrong_password(server: Any, location: str) -> None:
    """Hold that a wrong password is told, and not shown."""
    server.psql("CREATE ROLE anna LOGIN PASSWORD 'right';")
    rules = Path(server.pgdata) / "pg_hba.conf"
    kept = rules.read_text(encoding="utf-8")
    rules.write_text(f"local all anna scram-sha-256\n{kept}", encoding="utf-8")
    server.psql("SELECT pg_reload_conf();")
    place = location.replace("postgres:@", "anna:wrong@")
    ran = run(f"recondition vehicle list --book '{place}'")
    assert ran.status == 1
    assert "password authentication failed" in ran.err
    assert "wrong" not in ran.err


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda place: _other(place, "nowhere"), "does not exist"),
        (lambda place: place.replace("postgres:@", "nobody:@"), "nobody"),
    ],
)
def test_a_wrong_database_or_user_is_told(change: Any, said: str, served: Site) -> None:
    place = change(served.location)
    assert place != served.location
    ran = run(f"recondition vehicle list --book '{place}'")
    assert ran.status == 1
    assert "cannot be reached" in ran.err
    assert said in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize(
    ("first", "said"),
    [
        ("SET LOCAL transaction_read_only = on", "may only be read"),
        ("SET LOCAL ROLE stranger", "rights of this user"),
    ],
)
def test_a_server_that_does_not_let_us_write_is_told(first: str, said: str, served: Site) -> None:
    with psycopg.connect(served.location, autocommit=True) as other:
        other.execute("DROP ROLE IF EXISTS stranger")
        other.execute("CREATE ROLE stranger")
    with pytest.raises(BookNotWritable, match=said):
        _write_after(open_book(served.location), first)


def _write_after(book: Book, first: str) -> None:
    with book.writing() as conn:
        conn.execute(text(first))
        conn.execute(text("UPDATE chain_head SET count = count"))


def test_a_locked_vehicle_is_waited_for_and_then_told(
    served: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(again, "SECONDS", 0.1)
    monkeypatch.setattr("recondition.book.engine.BUSY_SECONDS", 1)
    with psycopg.connect(served.location) as other:
        other.execute("SELECT * FROM chain_head FOR UPDATE")
        ran = run(words(commands(served)["posting"]))
        assert ran.status == 1
        assert "is being written by somebody else" in ran.err
    assert run(words(commands(served)["posting"])).status == 0
