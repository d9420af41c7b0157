"""One person asks twice while every searcher is busy: the older question is dropped."""

from __future__ import annotations

from threading import Event, Thread
from typing import TYPE_CHECKING

from recondition.web import answers

if TYPE_CHECKING:
    from recondition.book.engine import Book

AT_MOST_SECONDS = 20


def ask_twice(book: Book) -> None:
    """Ask, and ask anew before the first question is begun; the first raises Overtaken."""
    made, go_on = answers.Answers(book), Event()
    for _ in range(answers._AT_ONCE):  # noqa: SLF001 - every one of them is busy
        made._pool.submit(go_on.wait, AT_MOST_SECONDS)  # noqa: SLF001 - as above
    newer = Thread(target=_once_asked, args=(made, go_on))
    newer.start()
    try:
        made.ask("somebody", lambda: "first", wait=AT_MOST_SECONDS)
    finally:
        newer.join()
        made.close()


def _once_asked(made: answers.Answers, go_on: Event) -> None:
    """Ask as soon as the question before waits; once that is dropped the searchers go on."""
    while "somebody" not in made._asked:  # noqa: SLF001 - nothing tells it sooner
        go_on.wait(0.01)
    first = made._asked["somebody"]  # noqa: SLF001 - as above
    first.add_done_callback(lambda _: go_on.set())
    made.ask("somebody", lambda: "second", wait=AT_MOST_SECONDS)
