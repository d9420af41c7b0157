"""Who is asking: the login behind a request, its rights, and the book that is open."""

from __future__ import annotations

from dataclasses import dataclass
from functools import wraps
from typing import TYPE_CHECKING, Any, cast

from flask import current_app, g, redirect, request, url_for

from recondition.book.roles import RIGHTS, Right
from recondition.book.trail import By
from recondition.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Callable

    from flask.typing import ResponseReturnValue

    from recondition.book.engine import Book
    from recondition.book.sessions import Session

EXTENSION = "recondition-book"
OPTIONS = "recondition-options"
SCRIPTED = "/api/"


class NotSignedIn(Refused):
    """A request for machines comes without a login."""

    exit_status = 2

    def __init__(self) -> None:
        """Say how to sign in."""
        super().__init__(
            "nobody is signed in",
            todo="Sign in on the page /sign-in, or send the token of POST /api/v1/session.",
        )


class NotForThisRole(Refused):
    """A page or an entry that the role of the login does not have."""

    def __init__(self, right: Right) -> None:
        """Say what the login would have to be allowed."""
        super().__init__(
            f"this login may not: {right.value}",
            todo="Ask whoever manages the logins, or sign in as somebody who may.",
        )


@dataclass(frozen=True, slots=True)
class Visit:
    """One request: the session behind it (None for nobody) and the address it comes from."""

    session: Session | None
    address: str

    @property
    def rights(self) -> frozenset[Right]:
        """What whoever is asking may see and do."""
        return RIGHTS[self.session.login.role] if self.session else frozenset()

    @property
    def person(self) -> str:
        """The ref of the person that entries are made as. Raises NotSignedIn."""
        return self.signed_in.login.person

    @property
    def signed_in(self) -> Session:
        """The session. Raises NotSignedIn."""
        if self.session is None:
            raise NotSignedIn
        return self.session

    @property
    def by(self) -> By:
        """Who does what is done, and from where. Raises NotSignedIn."""
        return By(self.signed_in.login.name, self.address)


def visit() -> Visit:
    """Give the visit of the request under way."""
    return cast("Visit", g.visit)


def the_book() -> Book:
    """Give the book that is served."""
    return cast("Book", current_app.extensions[EXTENSION])


def may(*rights: Right) -> bool:
    """Tell whether whoever is asking has any of some rights."""
    return bool(visit().rights.intersection(rights))


def hold(*rights: Right) -> None:
    """Raise NotForThisRole unless whoever is asking has any of some rights."""
    if not may(*rights):
        raise NotForThisRole(rights[0])


def needs(
    *rights: Right,
) -> Callable[[Callable[..., ResponseReturnValue]], Callable[..., ResponseReturnValue]]:
    """Let a page be opened by whoever has any of some rights; without rights, by any login.

    Nobody is sent to the page to sign in, and back afterwards.
    """

    def guarded(page: Callable[..., ResponseReturnValue]) -> Callable[..., ResponseReturnValue]:
        @wraps(page)
        def opened(*args: Any, **values: Any) -> ResponseReturnValue:  # noqa: ANN401 - a page's own
            if visit().session is None:
                if request.path.startswith(SCRIPTED):
                    raise NotSignedIn
                return redirect(url_for("signing_in.sign_in", then=request.full_path.rstrip("?")))
            if rights:
                hold(*rights)
            return page(*args, **values)

        return opened

    return guarded
