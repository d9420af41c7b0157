"""The server: one library for HTTP and TLS, a handful of threads, and an orderly end.

It refuses to speak plain HTTP to a network unless a proxy stands before it, since passwords and
figures would be read on the way.
"""

from __future__ import annotations

import errno
import logging
import os
import socket
import ssl
import sys
from collections.abc import Callable
from dataclasses import dataclass
from threading import Thread
from time import monotonic
from traceback import format_exc
from typing import TYPE_CHECKING, Any

from cheroot.makefile import MakeFile
from cheroot.server import HTTPConnection
from cheroot.ssl import Adapter
from cheroot.wsgi import Server

from recondition.errors import Refused
from recondition.web.behind import in_address, is_loopback, with_slashes

if TYPE_CHECKING:
    from wsgiref.types import WSGIApplication

SILENT_SECONDS = 10
LOOK_SECONDS = 0.1
STOPPING_SECONDS = 8
WAITING_MAX = 128
HEADERS_MAX_BYTES = 64 * 1024
BODY_MAX_BYTES = 65 * 1024 * 1024  # above what a page takes, which says so better
_WHY = {
    errno.EADDRINUSE: ("another program listens there already",
                       "Stop that one, or name another port with --port."),
    errno.EACCES: ("this user may not listen there",
                   "Name a port above 1023 with --port."),
}  # fmt: skip
_SPEAKS_TLS = b"This port speaks TLS: write https:// before the address.\n"


class NotListening(Refused):
    """Nothing can be served at this address and port."""

    exit_status = 2

    def __init__(self, host: str, port: int, error: OSError | UnicodeError) -> None:
        """Name the place and the reason."""
        why, todo = _WHY.get(
            getattr(error, "errno", 0) or 0,
            ("that is no address of this machine", "Name one of its addresses with --host."),
        )
        super().__init__(f"nothing can be served at {in_address(host)}:{port}: {why}", todo=todo)


class OpenToReaders(Refused):
    """The pages would be served to a network without TLS."""

    exit_status = 2

    def __init__(self, host: str) -> None:
        """Name the address and the ways there are."""
        super().__init__(
            f"at {host} others in the network reach the pages, and without TLS they can read every "
            "password and figure on the way",
            todo="For a shop's own network use --lan. Or give --certificate and --certificate-key, "
            "or let a proxy that speaks TLS stand before it, and say so with --behind-proxy. "
            "Without --host only this machine reaches them.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Listening:
    """Where a server listens (port 0 for any free one), with how many threads, and its TLS."""

    host: str = "127.0.0.1"
    port: int = 8765
    threads: int = 8
    tls: ssl.SSLContext | None = None


@dataclass(frozen=True, slots=True)
class Running:
    """A server that runs in threads of this process."""

    server: Server
    thread: Thread

    @property
    def port(self) -> int:
        """The port it listens at."""
        return int(self.server.bind_addr[1])

    @property
    def alive(self) -> bool:
        """Tell whether it still lets visitors in."""
        return self.thread.is_alive()


def hold_protected(host: str, *, protected: bool) -> None:
    """Hold that nothing is served to a network in plain sight. Raises OpenToReaders."""
    if not protected and not is_loopback(host):
        raise OpenToReaders(host)


def listen(app: WSGIApplication, at: Listening) -> Running:
    """Serve an application in threads of this process. Raises NotListening."""
    _hold_free(at.host, at.port)
    server = _Server(with_slashes(app), at)
    try:
        server.prepare()
    except OSError as error:  # somebody else was quicker
        raise NotListening(at.host, at.port, OSError(errno.EADDRINUSE, "")) from error
    thread = Thread(target=server.serve, name=f"serving-{at.port}", daemon=True)
    thread.start()
    return Running(server, thread)


def stop(*servers: Running) -> bool:
    """Let no one in any more and finish what runs; tell whether all of it ended in time.

    A request that takes longer than STOPPING_SECONDS is left to itself; it goes with the process.
    """
    stopping = [Thread(target=running.server.stop, daemon=True) for running in servers]
    for thread in stopping:
        thread.start()
    last = monotonic() + STOPPING_SECONDS + 1
    for thread in stopping:
        thread.join(max(last - monotonic(), 0))
    return not any(thread.is_alive() for thread in stopping)


def _hold_free(host: str, port: int) -> None:
    """Hold that one can listen at a place, so that the reason can be said where one cannot."""
    try:
        family, kind, number, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        with socket.socket(family, kind, number) as tried:
            if os.name == "posix":
                tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            tried.bind(address)
            tried.listen()
    except (OSError, UnicodeError) as error:
        raise NotListening(host, port, error) from error


class _Server(Server):
    """The library's server with our bounds; it grumbles only about mistakes of ours."""

    def __init__(self, app: WSGIApplication, at: Listening) -> None:
        super().__init__(
            (at.host, at.port), app, numthreads=at.threads, max=at.threads, server_name="pages",
            request_queue_size=WAITING_MAX, timeout=SILENT_SECONDS,
            shutdown_timeout=STOPPING_SECONDS,
        )  # fmt: skip
        self.max_request_header_size = HEADERS_MAX_BYTES
        self.max_request_body_size = BODY_MAX_BYTES
        self.keep_alive_conn_limit = WAITING_MAX
        self.expiration_interval = LOOK_SECONDS  # it hears of its end as late as that
        if at.tls is not None:
            self.ssl_adapter = _Speaking(at.tls)
            self.ConnectionClass = _Connection

    def error_log(self, msg: str = "", level: int = logging.INFO, traceback: bool = False) -> None:  # noqa: FBT001, FBT002 - the library calls it so
        """Write down what went wrong on our side; that a visitor went away is no news."""
        if level >= logging.ERROR:
            sys.stderr.write(f"{msg}\n{format_exc() if traceback else ''}")


class _Speaking(Adapter):
    """Speaks TLS; the greeting is left to the thread that serves the connection."""

    def __init__(self, context: ssl.SSLContext) -> None:
        super().__init__("", "")
        self.context = context

    def bind(self, sock: socket.socket) -> socket.socket:
        """Leave the socket that listens as it is."""
        return sock

    def wrap(self, sock: socket.socket) -> tuple[ssl.SSLSocket, dict[str, str]]:
        """Give the socket that speaks, and what is true of every request on it."""
        speaking = self.context.wrap_socket(sock, server_side=True, do_handshake_on_connect=False)
        return speaking, self.get_environ()

    def get_environ(self) -> dict[str, str]:
        """Say that requests come over TLS."""
        return {"wsgi.url_scheme": "https", "HTTPS": "on"}

    def makefile(self, sock: socket.socket, mode: str = "r", bufsize: int = -1) -> object:
        """Give the socket as a file."""
        make: Callable[..., object] = MakeFile
        return make(sock, mode, bufsize)


class _Connection(HTTPConnection):
    """A connection that greets when its turn comes.

    The library greets before it lets the next visitor in, so that one who stays silent, a phone
    that lost its network, would keep all others waiting.
    """

    greeted = False

    def communicate(self) -> Any:  # noqa: ANN401 - the library's own
        """Greet once, then answer requests; tell whether the connection stays open."""
        if not self.greeted:
            self.greeted = True
            try:
                self.socket.do_handshake()
            except (OSError, ValueError) as error:
                if getattr(error, "reason", "") == "HTTP_REQUEST":
                    _say_tls(self.socket)
                return False
        return super().communicate()  # type: ignore[no-untyped-call]


def _say_tls(speaking: ssl.SSLSocket) -> None:
    """Answer somebody who speaks plain HTTP to a port of TLS."""
    head = f"HTTP/1.1 400 Bad Request\r\nContent-Length: {len(_SPEAKS_TLS)}\r\n"
    head += "Content-Type: text/plain\r\nConnection: close\r\n\r\n"
    plain = socket.socket(fileno=os.dup(speaking.fileno()))
    with plain:
        plain.sendall(head.encode() + _SPEAKS_TLS)
