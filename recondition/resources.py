"""Finding the files that ship with the project: templates, migrations, demo data."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).parent


def resource(name: str) -> Path:
    """Give a shipped folder: inside the package when installed, beside it in a checkout.

    Raises FileNotFoundError where the installation lacks it.
    """
    for place in (_PACKAGE / name, _PACKAGE.parent / name):
        if place.is_dir():
            return place
    message = f"the installation lacks its folder {name!r}"
    raise FileNotFoundError(message)
