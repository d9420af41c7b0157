"""What is said to whoever is asking: no places of the machine, and amounts to those who see them.

Everything that refuses or says something passes here on its way to a page or a script.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from flask import request

from recondition.book.errors import shown
from recondition.book.roles import RIGHTS, Role
from recondition.errors import Refused
from recondition.ledger.rules import KeyReused
from recondition.web.blind import blinded, without_amounts
from recondition.web.permits import ENTER, may_enter, sees_money
from recondition.web.visit import the_book, visit
from recondition.web.wording import on_page

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from flask import Flask

    from recondition.book.engine import Book
    from recondition.book.logins import Login

_NAMED = re.compile(rf"(?:form|sheet) '?({'|'.join(sorted(ENTER, key=len, reverse=True))})\b")
_RATES = "sheet 'rates'"  # which is said with whom, see ``wording``
_ANEW = "Open the page anew to enter something else; what was made is put right on its own page."
_MINE = "This went wrong on our side."
_MINE_TODO = "Nothing was half-written. Try again; the server wrote down what it was."


def placeless(text: str, book: Book) -> str:
    """Give a sentence that names the book's place by its name alone, and no folder."""
    for place in (str(book.files), book.location, shown(book.location)):
        name = place.partition("?")[0].rstrip("/").rpartition("/")[2]
        text = text.replace(place, name or "the book")
    if book.path is not None:
        text = text.replace(f"{book.path.absolute().parent}/", "")
    return text


def with_whom(text: str) -> str:
    """Add to what is to be done who does it, where it takes a form that whoever asks has not."""
    held = visit().rights
    for sheet in dict.fromkeys(_NAMED.findall(on_page(text))):
        roles = [role.value for role in Role if set(ENTER[sheet]) & RIGHTS[role]]
        whom = f"A {' or '.join(roles)} does that."
        if not may_enter(sheet, held) and whom not in text and _RATES not in text:
            text += f" {whom}"
    return text


def told(refused: Refused) -> Refused:
    """Give a refusal as whoever is asking may read it; the same object, changed."""
    book = the_book()
    if isinstance(refused, KeyReused) and not request.path.startswith("/api/"):
        made = f"this form was sent before, and made {refused.made}"
        refused.what = "; ".join((made, *refused.differing))
        refused.todo = _ANEW
    for part in ("what", "where", "todo"):
        setattr(refused, part, placeless(getattr(refused, part), book))
    refused.todo = with_whom(refused.todo)
    return refused if sees_money(visit().rights) else blinded(refused)


def problems_of(refused: Refused) -> list[str]:
    """Give each problem of several in a row that was refused, as lines; nothing for a single one.

    As whoever is asking may read them.
    """
    problems = getattr(refused, "problems", None)
    if problems is None:
        return []
    book = the_book()
    lines = [with_whom(" ".join(placeless(each, book).split())) for each in problems.words()]
    return lines_told(lines)


def lines_told(lines: Iterable[str]) -> list[str]:
    """Give lines that were said as whoever is asking may read them."""
    said = [on_page(line) for line in lines]
    return said if sees_money(visit().rights) else [without_amounts(line) for line in said]


def told_to(login: Login, book: Book, folder: Path, what: Any) -> Any:  # noqa: ANN401 - plain values
    """Give what long work in a folder says as the login that it is done for may read it.

    ``what`` is a sentence, or several in lists and by their names; all else stays as it is.
    """
    if isinstance(what, str):
        text = placeless(what.replace(f"{folder}/", ""), book)
        return text if sees_money(RIGHTS[login.role]) else without_amounts(text)
    if isinstance(what, dict):
        return {name: told_to(login, book, folder, each) for name, each in what.items()}
    if isinstance(what, list):
        return [told_to(login, book, folder, each) for each in what]
    return what


def mistake_words(error: Exception) -> tuple[str, str]:
    """Say that something of ours or of the machine went wrong, and nothing of where."""
    said = getattr(error, "strerror", None) if isinstance(error, OSError) else None
    return (f"{_MINE[:-1]}: {said}." if said else _MINE), _MINE_TODO


def tell_in_pages(app: Flask) -> None:
    """Let every page that shows what was ``refused`` show it so."""
    from flask import before_render_template  # noqa: PLC0415 - once for an application

    def before(_app: Flask, context: Mapping[str, Any], **_more: object) -> None:
        if isinstance(refused := context.get("refused"), Refused):
            told(refused)

    before_render_template.connect(before, app, weak=False)
