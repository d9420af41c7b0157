"""Long work in the tests of the pages: begun by a form, waited for, its page read."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flask.testing import FlaskClient
    from playwright.sync_api import Locator, Page
    from werkzeug.test import TestResponse

AT_MOST_SECONDS = 120
_REST_MS = 1500


def looked(client: FlaskClient, page: str) -> dict[str, Any]:
    """Ask once how far some work is."""
    answer = client.get(page, headers={"Accept": "application/json"})
    assert answer.status_code == 200, answer.get_data(as_text=True)
    return dict(answer.get_json())


def ended(client: FlaskClient, begun: TestResponse) -> tuple[str, dict[str, Any]]:
    """Wait until the work ends that an answer leads to; give its page and how it ended."""
    assert begun.status_code == 303, begun.get_data(as_text=True)
    page = begun.location
    return page, awaited(client, page, lambda now: now["ended"])


def awaited(client: FlaskClient, page: str, so: Any) -> dict[str, Any]:
    """Wait until it is ``so`` with some work; give how it stands then."""
    until = time.monotonic() + AT_MOST_SECONDS
    while time.monotonic() < until:
        now = looked(client, page)
        if so(now):
            return now
        assert not now["ended"], now
        time.sleep(0.05)
    message = "the work took too long"
    raise AssertionError(message)


def seen(page: Page, so: str, given: Any = None) -> None:
    """Wait until an expression comes true on a page, whose policy lets no script be made there."""
    until = time.monotonic() + AT_MOST_SECONDS
    while not page.evaluate(so, given):
        assert time.monotonic() < until, so
        page.wait_for_timeout(100)


def at_rest(target: Locator) -> Locator:
    """Give what lies beside a framed sheet once the page has come to rest there.

    The browser looks up what lies under a finger in the picture that it drew last; the driver
    would be quicker than the next picture, and what it does would land in the frame.
    """
    target.scroll_into_view_if_needed(timeout=AT_MOST_SECONDS * 1000)
    target.page.wait_for_timeout(_REST_MS)
    return target
