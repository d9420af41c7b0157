"""The real browser of the tests. Where it is missing they fail rather than skip."""

from __future__ import annotations

import shutil

ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]


def chromium() -> str:
    """Give the path of Chromium, from Debian's package of that name."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    assert path is not None, "install Debian's package chromium; .ci/run does"
    return path
