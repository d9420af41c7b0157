"""Tables about the pages: who may sign in, links that were given out, and the trail."""

from __future__ import annotations

from datetime import datetime

from recondition.book import Connection, logins, share_links, trail
from recondition.reports.table import CellKind, Column, Table

_LOGINS = (
    Column("name", "Login"),
    Column("role", "Role"),
    Column("person", "Enters as"),
    Column("state", "State"),
)
_LINKS = (
    Column("id", "Link"),
    Column("stock", "Stock"),
    Column("edition", "Edition", CellKind.INTEGER),
    Column("made_by", "Made by"),
    Column("made_at", "Made"),
    Column("ends_at", "Until"),
    Column("state", "State"),
)
_TRAIL = (
    Column("at", "When"),
    Column("login", "Login"),
    Column("role", "Role"),
    Column("action", "What"),
    Column("about", "Whose login"),
    Column("subject", "About"),
    Column("detail", "Detail"),
    Column("address", "From"),
)
_NEWEST = "Without an edition a link shows the newest. The links themselves are kept nowhere."
_ADDRESSES = f"Addresses are kept for {trail.ADDRESS_DAYS} days. No login: the command line."


def login_table(conn: Connection) -> list[Table]:
    """List every login with its role, the person it enters as, and whether it opens anything."""
    rows = tuple(
        (each.name, each.role.value, each.person, _state(each)) for each in logins.listed(conn)
    )
    return [Table("Logins", _LOGINS, rows)]


def _state(each: logins.Login) -> str:
    """Say whether a login opens anything."""
    if each.closed:
        return "closed"
    return "open" if each.has_password else "has no password yet"


def link_table(conn: Connection, vehicle: str | None, now: datetime) -> list[Table]:
    """List the links of one vehicle, or of all. Raises NotThere."""
    rows = tuple(
        (
            each.id, each.vehicle, each.number, each.made_by, _shown(each.made_at),
            _shown(each.ends_at) if each.ends_at else "withdrawn",
            _held(each, now),
        )
        for each in share_links.listed(conn, vehicle)
    )  # fmt: skip
    return [Table("Links", _LINKS, rows, note=_NEWEST)]


def _held(each: share_links.Link, now: datetime) -> str:
    """Say whether a link opens anything at a moment."""
    if each.withdrawn_at is not None:
        return f"withdrawn {_shown(each.withdrawn_at)}"
    return "holds" if each.holds(now) else "is over"


def trail_table(conn: Connection, last: int) -> list[Table]:
    """List the last so many rows of the trail, the newest first."""
    rows = tuple(
        (
            _shown(each.at), each.login, each.role, each.action, each.about, each.subject,
            each.detail, each.address,
        )
        for each in trail.listed(conn, limit=last)
    )  # fmt: skip
    return [Table("Trail", _TRAIL, rows, note=_ADDRESSES)]


def _shown(at: datetime) -> str:
    """Write a moment to the second, in the zone of this machine."""
    return at.astimezone().isoformat(" ", timespec="seconds")
