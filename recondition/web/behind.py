"""What stands between the network and the pages: the names they answer to, and a proxy.

A page of another site can make a browser believe that its own name leads here (DNS rebinding);
so a request by a name that is not served is turned away before anything looks at it.
"""

from __future__ import annotations

import socket
from contextlib import closing, suppress
from ipaddress import IPv4Network, IPv6Network, ip_address, ip_network
from typing import TYPE_CHECKING, Any

from werkzeug.middleware.proxy_fix import ProxyFix

if TYPE_CHECKING:
    from collections.abc import Iterable
    from wsgiref.types import StartResponse, WSGIApplication, WSGIEnvironment

LOOPBACK_NAMES = ("localhost", "127.0.0.1", "::1")
ANY_ADDRESS = ("0.0.0.0", "::")  # noqa: S104 - told apart here, bound to elsewhere
# RFC 1918, RFC 3927, RFC 4193 and RFC 4291: what no router passes on to the world.
PRIVATE: tuple[IPv4Network | IPv6Network, ...] = tuple(
    ip_network(network)
    for network in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16",
                    "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128")
)  # fmt: skip
_SOMEWHERE = ("10.255.255.255", 1)
_NOT_HERE = (
    b"The pages are not served under this name.\n"
    b"Use one of the addresses that were printed when they were started, or start them with "
    b"--host-name and the name in your address bar.\n"
)


def hosted(app: WSGIApplication, names: Iterable[str]) -> WSGIApplication:
    """Let requests through that are meant for one of some names; others get 400 with words."""
    known = frozenset(plain_name(name) for name in names)

    def guarded(environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        if plain_name(environ.get("HTTP_HOST", "")) in known:
            return app(environ, start)
        start("400 Bad Request", [
            ("Content-Type", "text/plain; charset=utf-8"),
            ("Content-Length", str(len(_NOT_HERE))),
            ("X-Content-Type-Options", "nosniff"),
            ("Connection", "close"),
        ])  # fmt: skip
        return [_NOT_HERE]

    return guarded


def proxied(app: WSGIApplication) -> WSGIApplication:
    """Believe one proxy what it says of the visitor: address, scheme and the name asked for."""
    return ProxyFix(app, x_for=1, x_proto=1, x_host=1)


def with_slashes(app: WSGIApplication) -> WSGIApplication:
    """Let a slash that is written as %2F in a path be one; cheroot hands it on as it came."""

    def served(environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        path = environ.get("PATH_INFO", "").replace("%2F", "/").replace("%2f", "/")
        return app({**environ, "PATH_INFO": path}, start)

    return served


def forgetful(app: WSGIApplication) -> WSGIApplication:
    """Let no browser remember that a name speaks TLS alone (RFC 6797).

    It would hold that of each port of the name, and in a shop's own network the pairing page
    stands beside the pages.
    """

    def served(environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        def begin(status: str, headers: list[tuple[str, str]], *more: Any) -> Any:  # noqa: ANN401 - PEP 3333
            kept = [pair for pair in headers if pair[0].lower() != "strict-transport-security"]
            return start(status, kept, *more)

        return app(environ, begin)

    return served


def plain_name(host: str) -> str:
    """Give a host as it is compared: without port, brackets and last dot, in small letters.

    >>> plain_name("Desk.Local.:8765"), plain_name("[::1]:8765"), plain_name("::1")
    ('desk.local', '::1', '::1')
    """
    name = host.strip().lower()
    if name.startswith("["):
        return name[1:].partition("]")[0]
    if name.count(":") == 1:
        name = name.partition(":")[0]
    return name.removesuffix(".")


def in_address(name: str) -> str:
    """Write a name or an IP address as it stands in an address: IPv6 in brackets."""
    return f"[{name}]" if ":" in name else name


def is_address(name: str) -> bool:
    """Tell whether a name is an IP address."""
    try:
        ip_address(name)
    except ValueError:
        return False
    return True


def is_private(address: str) -> bool:
    """Tell whether an IP address leads nowhere outside the house."""
    found = ip_address(address.partition("%")[0])
    return any(found in network for network in PRIVATE)


def is_loopback(host: str) -> bool:
    """Tell whether only this machine reaches what is bound to a host.

    A name counts where all that it stands for counts; one that stands for nothing does not.
    """
    try:
        found = socket.getaddrinfo(host, None, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        return False
    return all(ip_address(str(entry[4][0]).partition("%")[0]).is_loopback for entry in found)


def machine_names() -> tuple[str, ...]:
    """Give what this machine is called in its own network: its name, and that with .local."""
    own = plain_name(socket.gethostname())
    first = own.partition(".")[0]
    return tuple(dict.fromkeys(name for name in (f"{first}.local", own) if first))


def private_addresses() -> tuple[str, ...]:
    """Give the IPv4 addresses of this machine in its own network; nothing is sent for it."""
    found: list[str] = []
    with closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as probe, suppress(OSError):
        probe.connect(_SOMEWHERE)  # a datagram's socket only looks up which way it would go
        found.append(str(probe.getsockname()[0]))
    with suppress(OSError, UnicodeError):
        entries = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        found += [str(entry[4][0]) for entry in entries]
    usable = (one for one in found if is_private(one) and not ip_address(one).is_loopback)
    return tuple(dict.fromkeys(usable))
