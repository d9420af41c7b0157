"""How the pages are served; what the application has to know of it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """What depends on how the pages are served.

    ``first_token`` opens the page for the first login, where the book has none. ``behind_proxy``
    says that another server speaks to the world and names the visitor in its headers.
    """

    first_token: str | None = None
    behind_proxy: bool = False
