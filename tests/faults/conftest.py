"""The warm process that all faults share, and a small book to try them on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.faults import killing
from tests.faults.engines import InFiles, Template, site_of
from tests.faults.yard import shop_of

if TYPE_CHECKING:
    from multiprocessing.context import ForkServerContext
    from pathlib import Path

    from tests.faults.deeds import Site


@pytest.fixture(scope="session")
def context() -> ForkServerContext:
    """Start the warm process once."""
    return killing.warm()


@pytest.fixture(scope="session")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Template:
    """Make the small book once."""
    folder = tmp_path_factory.mktemp("shop") / "own"
    return Template(shop_of(InFiles(), folder)[0], folder)


@pytest.fixture
def site(shop: Template, tmp_path: Path) -> Site:
    """Give a copy of the small book, with what can be entered in it."""
    return site_of(InFiles(), shop, tmp_path / "site")
