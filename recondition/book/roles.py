"""Who may see and do what on the pages: four roles, and the rights of each.

The command line knows no roles: whoever can open the book's file can read all of it.
"""

from __future__ import annotations

from enum import StrEnum


class Role(StrEnum):
    """What somebody is on the pages. Values are kept in the book."""

    PREPARER = "preparer"
    DEALER = "dealer"
    BOOKKEEPER = "bookkeeper"
    SELLER = "seller"


class Right(StrEnum):
    """One thing that a page may ask for."""

    BENCH = "work at the car: findings, measurements, the clock, measured use"
    MONEY = "see what work costs and may bring"
    DECIDE = "decide what is done: candidate work, sale terms, approvals"
    BOOKS = "keep the books: invoices, payments, periods, downloads"
    RELEASE = "make and release the work history"
    MANAGE = "give and take logins, read the trail"


RIGHTS: dict[Role, frozenset[Right]] = {
    Role.PREPARER: frozenset({Right.BENCH}),
    Role.DEALER: frozenset(Right),
    Role.BOOKKEEPER: frozenset({Right.MONEY, Right.BOOKS}),
    Role.SELLER: frozenset({Right.RELEASE}),
}
