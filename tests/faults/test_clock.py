"""A clock that was moved back: a clear word, the book intact, and a way on."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from recondition.book.engine import open_book, utc_now
from recondition.intake.form import one_row
from tests.faults import deeds
from tests.faults.test_disks import commands, refused
from tests.faults.test_strange import words
from tests.running import run

if TYPE_CHECKING:
    from tests.faults.deeds import Site


def test_a_clock_that_was_moved_back_is_told(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RECONDITION_BOOK", site.location)
    monkeypatch.setenv("RECONDITION_FILES", str(site.files))
    monkeypatch.setenv("RECONDITION_PERSON", deeds.PERSON)
    ahead = open_book(site.location, now=lambda: utc_now() + timedelta(hours=2))
    values = {"vehicle": "0007", "price": "3.00", "words": "towing", "work_date": "2031-03-04",
              "unlinked": "transport"}  # fmt: skip
    assert one_row(ahead, "charges", values, author_ref=deeds.PERSON).refused is None
    ahead.close()
    before = run("recondition post list --json").out
    posting = words(commands(site)["posting"])
    ran = run(posting)
    refused(ran, ("the clock of this machine stands at",), "posting")
    assert run("recondition post list --json").out == before
    found = re.search(r"recondition book set '([^']*)' (\S+)", ran.err)
    assert found is not None, ran.err
    assert run(f"recondition book set '{found[1]}' '{found[2]}'").status == 0
    assert run(posting).status == 0
    assert run("recondition check").status == 0
