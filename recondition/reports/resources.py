"""Finds the folders that ship with the program: templates, migrations, demo_data.

In a wheel they lie inside the package, in a working tree beside it.
"""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def resource(name: str) -> Path:
    """Give the folder called ``name``: the one in the package, else the one beside it.

    Raises FileNotFoundError where neither is there, which means a broken installation.
    """
    for folder in (_PACKAGE / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    message = f"the folder {name!r} is missing from this installation of recondition"
    raise FileNotFoundError(message)
