"""Serve the pages for the bench and the desk."""

from __future__ import annotations

import gc
import os
import re
import signal
import sys
import threading
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from recondition.cli._shared import location, the_book, uses_book
from recondition.errors import Refused

if TYPE_CHECKING:
    from types import FrameType

    from recondition.web.serving import Running
    from recondition.web.starting import Wanted

NEEDED = ("argon2", "cheroot.wsgi", "flask", "segno")
LOOK_SECONDS = 0.5
_FILE = click.Path(path_type=Path, dir_okay=False)
_LABEL = r"[a-z0-9_]([a-z0-9_-]{0,61}[a-z0-9_])?"
_NAME = re.compile(rf"{_LABEL}(\.{_LABEL})*")


class PagesNotInstalled(Refused):
    """The libraries that serve the pages are not installed."""

    exit_status = 2

    def __init__(self, why: str) -> None:
        """Say which is missing and how to get it."""
        super().__init__(
            f"the pages need an extra that is not there: {why}",
            todo="Install it: pip install 'recondition[server]'.",
        )


def _names(_ctx: click.Context, _param: click.Parameter, given: tuple[str, ...]) -> tuple[str, ...]:
    """Read names as a browser sends them."""
    return tuple(_name(text) for text in given)


def _host(_ctx: click.Context, _param: click.Parameter, given: str | None) -> str | None:
    """Read the address to listen at."""
    return None if given is None else _name(given)


def _name(text: str) -> str:
    """Read one name or IP address, in small letters; one with other letters in its ASCII form."""
    from ipaddress import ip_address  # noqa: PLC0415 - only where a name is given

    plain = text.strip().lower().strip("[]").removesuffix(".")
    try:
        return str(ip_address(plain))
    except ValueError:
        pass
    try:
        ascii_form = plain.encode("idna").decode()
    except UnicodeError:
        ascii_form = ""
    if _NAME.fullmatch(ascii_form) is None:
        message = f"{text!r} is no name of a machine; give it without https:// and port."
        raise click.BadParameter(message)
    return ascii_form


@uses_book
@click.command(short_help="Serve the pages for the bench and the desk.")
@click.option("--port", type=click.IntRange(0, 65534), default=8765, show_default=True,
              help="Where to listen; 0 for any port that is free.")  # fmt: skip
@click.option("--host", metavar="ADDRESS", callback=_host,
              help="At which address; without it only this machine gets in.")  # fmt: skip
@click.option("--lan", is_flag=True,
              help="For the shop's network, over TLS, with a page to pair.")  # fmt: skip
@click.option("--host-name", "names", multiple=True, metavar="NAME", callback=_names,
              help="A further name that they are asked for by; may be repeated.")  # fmt: skip
@click.option("--certificate", type=_FILE, help="PEM of the certificate to speak TLS with.")
@click.option("--certificate-key", type=_FILE, help="PEM of its private key.")
@click.option("--behind-proxy", is_flag=True,
              help="A proxy stands before them; believe what it says of visitors.")  # fmt: skip
@click.option("--threads", type=click.IntRange(1, 64), default=8, show_default=True,
              help="How many requests are answered at once.")  # fmt: skip
def command(**given: Any) -> None:  # noqa: ANN401 - what the options give
    """Serve the pages of the book until Ctrl-C.

    Without more only this machine reaches them. In the shop's network --lan serves them over TLS
    with a certificate that it makes itself, and at the next port a page on which each device is
    paired once. Elsewhere give a certificate, or put a proxy before them; the page /help/tls says
    how. A book without logins begins at an address that is printed once.
    """
    _hold_together(given)
    _hold_installed()
    from recondition.web.starting import Wanted  # noqa: PLC0415 - heavy, and only here

    _serve(Wanted(**given))


def _hold_together(given: dict[str, Any]) -> None:
    """Hold that the options go together. Raises UsageError."""
    own = given["certificate"] is not None
    if own != (given["certificate_key"] is not None):
        message = "--certificate and --certificate-key need each other."
        raise click.UsageError(message)
    if given["lan"] + own + given["behind_proxy"] > 1:
        message = "--lan, --certificate and --behind-proxy are three ways to TLS; choose one."
        raise click.UsageError(message)


def _hold_installed() -> None:
    """Hold that the libraries are there. Raises PagesNotInstalled."""
    try:
        for name in NEEDED:
            import_module(name)
    except ImportError as error:
        raise PagesNotInstalled(str(error)) from error


def _serve(wanted: Wanted) -> None:
    """Serve until the process is told to end; then finish what runs."""
    from recondition.book.engine import open_book  # noqa: PLC0415 - heavy, and only here
    from recondition.web.serving import STOPPING_SECONDS, stop  # noqa: PLC0415 - as above
    from recondition.web.starting import start  # noqa: PLC0415 - as above

    the_book().close()
    book = open_book(location(), keep=wanted.threads)
    try:
        started = start(book, wanted)
        gc.freeze()  # what is there for good is not looked through again while somebody waits
        try:
            click.echo("\n".join([*started.said, "Stop with Ctrl-C."]))
            _wait(started.servers)
            click.echo("Stopping; what is running is finished first.")
        finally:
            ended = stop(*started.servers)
    finally:
        book.close()
    late = f"What took longer than {STOPPING_SECONDS} seconds was cut off, and kept nothing."
    click.echo("Stopped." if ended else f"Stopped. {late}")
    _leave()


def _wait(servers: tuple[Running, ...]) -> None:
    """Wait for Ctrl-C or the signal to end, or for a server that ended by itself."""
    told = threading.Event()

    def end(_number: int, _frame: FrameType | None) -> None:
        told.set()

    before = {sign: signal.signal(sign, end) for sign in (signal.SIGINT, signal.SIGTERM)}
    try:
        while not told.wait(LOOK_SECONDS) and all(server.alive for server in servers):
            continue
    finally:
        for sign, handler in before.items():  # asked twice, it ends at once
            signal.signal(sign, handler)


def _leave() -> None:
    """End the process where a thread that is not waited for would keep it alive."""
    others = (one for one in threading.enumerate() if one is not threading.main_thread())
    if any(not one.daemon for one in others):
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(0)
