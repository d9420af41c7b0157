"""Puts the pages up: the certificate, the names they answer to, the servers, what is printed."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from recondition.book import logins
from recondition.web.app import make_app
from recondition.web.authority import Authority, folder_of, names_of, open_authority, server_file
from recondition.web.behind import (
    ANY_ADDRESS,
    LOOPBACK_NAMES,
    forgetful,
    hosted,
    in_address,
    is_loopback,
    machine_names,
    private_addresses,
    proxied,
)
from recondition.web.certificates import hold_key, read_certificate, tls_context
from recondition.web.options import Options
from recondition.web.pairing import Pairing, make_pairing
from recondition.web.released import sweep
from recondition.web.serving import Listening, Running, hold_protected, listen, stop

if TYPE_CHECKING:
    import ssl
    from collections.abc import Iterable
    from wsgiref.types import WSGIApplication

    from recondition.book.engine import Book

TOKEN_BYTES = 24
ENDS_SOON_DAYS = 30
PAIRING_THREADS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """How the pages are to be served, as the command was told."""

    host: str | None = None
    port: int = 8765
    names: tuple[str, ...] = ()
    lan: bool = False
    certificate: Path | None = None
    certificate_key: Path | None = None
    behind_proxy: bool = False
    threads: int = 8

    @property
    def at(self) -> str:
        """The address to listen at: of this machine alone, unless said or for the network."""
        return self.host or (ANY_ADDRESS[0] if self.lan else LOOPBACK_NAMES[1])

    @property
    def anywhere(self) -> bool:
        """Tell whether every address of the machine is listened at."""
        return self.at in ANY_ADDRESS


@dataclass(frozen=True, slots=True)
class Secured:
    """What the pages speak TLS with, for which names, and what is to be said of it."""

    tls: ssl.SSLContext | None = None
    names: tuple[str, ...] = ()
    said: tuple[str, ...] = ()
    authority: Authority | None = None


@dataclass(frozen=True, slots=True)
class Started:
    """The servers that run, and the lines that say where."""

    servers: tuple[Running, ...]
    said: tuple[str, ...]


def start(book: Book, wanted: Wanted) -> Started:
    """Serve a book in threads of this process until they are stopped (``serving.stop``).

    Raises OpenToReaders, NotListening and what a certificate is refused for.
    """
    sweep(book)
    secured = _secured(book, wanted, book.now())
    hold_protected(wanted.at, protected=secured.tls is not None or wanted.behind_proxy)
    own = () if wanted.anywhere else (wanted.at,)
    known = (*LOOPBACK_NAMES, *own, *wanted.names, *secured.names)
    token = _first_token(book)
    options = Options(first_token=token, behind_proxy=wanted.behind_proxy)
    pages = _pages(hosted(make_app(book, options), known), wanted, secured)
    try:
        return _beside(pages, known, wanted, secured, token)
    except BaseException:
        stop(pages)  # its threads would keep the process alive
        raise


def _beside(
    pages: Running, known: Iterable[str], wanted: Wanted, secured: Secured, token: str | None
) -> Started:
    """Serve beside the pages what is to be served beside them, and say where everything is."""
    addresses = _addresses(wanted, secured, pages.port)
    said = [*_listed("The pages are at:", addresses), *secured.said]
    if wanted.behind_proxy:
        at = _address("http", wanted.at, pages.port)
        said += _listed("The proxy passes requests on to:", [at])
    servers = [pages]
    if secured.authority is not None:
        pairing = _pairing(secured.authority, addresses)
        servers.append(_pair(pairing, known, wanted))
        beside = addresses[0].replace("https:", "http:").rpartition(":")[0]
        said += _said_of_pairing(pairing, f"{beside}:{servers[1].port}")
    if token is not None:
        begin = "The book has no logins yet. Whoever opens this address becomes its first dealer:"
        said += _listed(begin, [f"{addresses[0]}/begin/{token}"])
    return Started(tuple(servers), tuple(said))


def _pages(app: WSGIApplication, wanted: Wanted, secured: Secured) -> Running:
    """Serve the pages."""
    if wanted.lan:
        app = forgetful(app)
    return listen(
        proxied(app) if wanted.behind_proxy else app,
        Listening(host=wanted.at, port=wanted.port, threads=wanted.threads, tls=secured.tls),
    )


def _listed(words: str, lines: list[str]) -> list[str]:
    """Put lines under the words that lead to them."""
    return [words, *(f"  {line}" for line in lines)]


def _first_token(book: Book) -> str | None:
    """Make the token for the first login of a book; None where it has logins."""
    with book.reading() as conn:
        return None if logins.any_there(conn) else secrets.token_hex(TOKEN_BYTES)


def _secured(book: Book, wanted: Wanted, now: datetime) -> Secured:
    """Get the certificate ready that was asked for."""
    if wanted.lan:
        return _lan(book, wanted, now)
    if wanted.certificate is None or wanted.certificate_key is None:
        return Secured()
    found = read_certificate(wanted.certificate, now)
    hold_key(wanted.certificate_key, found, wanted.certificate)
    left = (found.not_valid_after_utc - now).days
    soon = f"The certificate ends in {left} days, on {found.not_valid_after_utc:%Y-%m-%d}."
    tls = tls_context(wanted.certificate, wanted.certificate_key)
    return Secured(tls, names_of(found), (soon,) if left < ENDS_SOON_DAYS else ())


def _lan(book: Book, wanted: Wanted, now: datetime) -> Secured:
    """Make the authority of the shop's network where there is none, and the server's certificate.

    What was named has to be vouched for; of the machine's own names those that can be.
    """
    machine = machine_names()
    named = (*wanted.names, *(() if wanted.anywhere else (wanted.at,)))
    called = machine[0] if machine else "this machine"
    authority = open_authority(folder_of(book), (*named, *machine), called, now)
    found = (*(private_addresses() if wanted.anywhere else ()), *machine)
    names = tuple(name for name in found if authority.covers(name))
    file = server_file(authority, (*named, *names, *LOOPBACK_NAMES), now)
    return Secured(tls_context(file, file), names, (), authority)


def _addresses(wanted: Wanted, secured: Secured, port: int) -> list[str]:
    """Give the addresses to open, the best first; a proxy's are at the names it answers to."""
    if wanted.behind_proxy and wanted.names:
        return [f"https://{in_address(name)}" for name in wanted.names]
    scheme = "http" if secured.tls is None else "https"
    network = () if is_loopback(wanted.at) and secured.authority else secured.names
    names = [*wanted.names, *network]
    if not wanted.anywhere or not names:
        names.append(LOOPBACK_NAMES[1] if wanted.anywhere else wanted.at)
    return [_address(scheme, name, port) for name in dict.fromkeys(names)]


def _address(scheme: str, name: str, port: int) -> str:
    return f"{scheme}://{in_address(name)}:{port}"


def _pairing(authority: Authority, addresses: list[str]) -> Pairing:
    """Put together what a device is told."""
    return Pairing(
        tuple(addresses), authority.der, authority.fingerprint, authority.called,
        authority.certificate.not_valid_after_utc.date(), authority.limits,
    )  # fmt: skip


def _pair(pairing: Pairing, known: Iterable[str], wanted: Wanted) -> Running:
    """Serve the pairing page one port above the pages, or at any free one."""
    port = wanted.port + 1 if wanted.port else 0
    app = hosted(make_pairing(pairing), known)
    return listen(app, Listening(host=wanted.at, port=port, threads=PAIRING_THREADS))


def _said_of_pairing(pairing: Pairing, address: str) -> list[str]:
    """Say where a device is paired, and by what the authority is known."""
    half = len(pairing.fingerprint) // 2 + 1
    lines = [pairing.fingerprint[:half], pairing.fingerprint[half:]]
    return [
        *_listed("A device is paired once, at:", [address]),
        *_listed("It has to show this fingerprint (SHA-256) of what it is told to trust:", lines),
    ]
