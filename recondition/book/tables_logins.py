"""Tables of the pages: logins, their sessions, links for buyers, and the trail of what was done.

They belong to no chain. Logins, sessions and links change; the trail takes inserts only, and what
may have to go from it, words and addresses, stands in tables of its own, whose rows may be
deleted and never changed. Moments are ISO 8601 in UTC, each as long as the other, so that they
can be compared as texts. Of whatever opens something only a hash is kept.
"""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Table, Text

from recondition.book.columns import METADATA, count, text, to_record


def _to(table: str) -> ForeignKey:
    """Point at a row of one of these tables; held at commit."""
    return ForeignKey(f"{table}.id", deferrable=True, initially="DEFERRED")


def _id(comment: str = "random id") -> Column[str]:
    """Declare the key of a table."""
    return Column("id", Text, primary_key=True, comment=comment)


def _hash(comment: str) -> Column[str]:
    """Declare the key of what is found by a secret."""
    return Column("token_hash", Text, primary_key=True, comment=f"SHA-256 of {comment}")


def _at(name: str, comment: str, *, required: bool = True, index: bool = False) -> Column[str]:
    """Declare a moment."""
    return Column(name, Text, nullable=not required, index=index, comment=f"{comment}, ISO 8601")


def _of_login(comment: str, name: str = "login", *, required: bool = True) -> Column[str]:
    """Declare a column that names a login."""
    return Column(name, _to("login"), nullable=not required, index=True, comment=comment)


def _of_trail() -> Column[str]:
    """Declare the key of what stands beside the trail."""
    return Column("trail", _to("trail"), primary_key=True, comment="row of the trail")


login = Table(
    "login",
    METADATA,
    _id(),
    text("name", "as it was given", required=True),
    Column("name_folded", Text, nullable=False, unique=True, comment="in small letters"),
    text("role", "what it may see and do", required=True),
    Column("person", to_record(), nullable=False, index=True, comment="whose entries they are"),
    text("password_hash", "Argon2id, with its salt and parameters"),
    _at("made_at", "since when"),
    _at("closed_at", "from when on it opens nothing", required=False),
)

login_token = Table(
    "login_token",
    METADATA,
    _hash("the token, which sets a password once"),
    _of_login("whose password"),
    _at("made_at", "since when"),
    _at("ends_at", "until when"),
    _at("used_at", "when it was used", required=False),
)

login_session = Table(
    "login_session",
    METADATA,
    _hash("the token that the browser keeps"),
    _of_login("who is signed in"),
    _at("made_at", "since when"),
    _at("seen_at", "seen last, to some minutes"),
    _at("ends_at", "until when at most"),
)

login_try = Table(
    "login_try",
    METADATA,
    _id(),
    Column("name_hash", Text, nullable=False, index=True, comment="SHA-256 of the folded name"),
    Column("address", Text, nullable=False, index=True, comment="where it came from"),
    _at("at", "when it was tried", index=True),
)

share_link = Table(
    "share_link",
    METADATA,
    _id(),
    Column("token_hash", Text, nullable=False, unique=True, comment="SHA-256 of the link's token"),
    Column("vehicle", to_record(), nullable=False, index=True, comment="of which vehicle"),
    count("number", "which edition, none for the newest"),
    _of_login("who made it", "made_by", required=False),
    _at("made_at", "since when"),
    _at("ends_at", "until when", required=False),
    _at("withdrawn_at", "from when on it opens nothing", required=False),
)

trail = Table(
    "trail",
    METADATA,
    _id("a count, then random"),
    _at("at", "when", index=True),
    _of_login("who did it, none at the command line", required=False),
    _of_login("login that it was done to", "about", required=False),
    text("action", "what was done", required=True),
)

trail_words = Table(
    "trail_words",
    METADATA,
    _of_trail(),
    text("subject", "stock number, ref or sheet", required=True),
    text("detail", "in a few words", required=True),
)

trail_address = Table(
    "trail_address",
    METADATA,
    _of_trail(),
    _at("at", "when", index=True),
    text("address", "where it came from", required=True),
)

OF_PAGES = frozenset(
    {"login", "login_token", "login_session", "login_try", "share_link", "trail", "trail_words",
     "trail_address"}
)  # fmt: skip
"""Every table here: none of them belongs to a chain."""

KEPT = ("trail",)
"""What takes inserts only, like a posted table."""

UNCHANGED = ("trail_words", "trail_address")
"""Whose rows may be deleted, and are never changed."""

PASSING = frozenset({"login_token", "login_session", "login_try"})
"""What ends by itself: nothing is lost with it."""
