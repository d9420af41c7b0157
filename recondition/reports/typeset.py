"""Setting a page as a PDF that is tagged (PDF/UA-1) and made to be kept (PDF/A-2a).

The page is as wide as A4 and as high as Letter, so that it prints on both without scaling.
Only typefaces that typst carries with it are used: the same page gives the same bytes on
every machine. They lack some scripts; a sign they lack is shown by its Unicode number.
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Mapping
from datetime import UTC, date, datetime, time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, cast

import typst

from recondition.errors import Refused
from recondition.resources import resource

STANDARDS = ["ua-1", "a-2a"]

# A run of signs can hide another that only shows once the first is replaced.
MAX_TRIES = 4
_UNSHOWN = re.compile(r'the text `"(.+?)"` could not be displayed|the codepoint `"(.+?)"`')
_ESCAPED = re.compile(r"\\u\{([0-9a-f]+)\}")


class SheetNotPrinted(Refused):
    """A page could not be set as a PDF."""

    def __init__(self, why: str) -> None:
        """Pass on what the typesetter said."""
        super().__init__(
            f"it could not be printed as PDF: {why}",
            todo="The page (HTML) shows the same; print that, and report the message.",
        )


def typeset(
    template: str, page: str, made_on: date, pictures: Mapping[str, bytes] | None = None
) -> bytes:
    """Set a page (JSON) by a template of the folder ``templates``. Raises SheetNotPrinted.

    The date inside the file is ``made_on``. ``pictures`` gives files that the template finds
    beside itself, by name.
    """
    with TemporaryDirectory(prefix="recondition-") as name:
        folder = Path(name)
        shutil.copyfile(resource("templates") / template, folder / template)
        for file, content in (pictures or {}).items():
            (folder / file).write_bytes(content)
        return _typeset(folder / template, page, made_on)


def _typeset(template: Path, page: str, made_on: date) -> bytes:
    """Set a page, again where a typeface lacks a sign."""
    unshown: set[str] = set()
    for _ in range(MAX_TRIES):
        try:
            return _compile(template, _numbered(page, unshown), made_on)
        except typst.TypstError as error:
            more = _signs_in(error.diagnostic) - unshown
            if not more:
                raise SheetNotPrinted(error.message) from error
            unshown |= more
    message = "too many signs that no typeface has"
    raise SheetNotPrinted(message)


def _compile(template: Path, page: str, made_on: date) -> bytes:
    """Run the typesetter over the layout."""
    return typst.compile(
        template,
        ignore_system_fonts=True,
        sys_inputs={"page": page},
        pdf_standards=cast("Any", STANDARDS),
        timestamp=datetime.combine(made_on, time(), UTC),
    )


def _signs_in(diagnostic: str) -> set[str]:
    """Read from the typesetter's messages which signs beyond plain ASCII it cannot show."""
    texts = (first or second for first, second in _UNSHOWN.findall(diagnostic))
    plain = "".join(_ESCAPED.sub(lambda found: chr(int(found[1], 16)), text) for text in texts)
    return {sign for sign in plain if not sign.isascii() or not sign.isprintable()}


def _numbered(page: str, signs: set[str]) -> str:
    """Put a sign's Unicode number where the sign stood, in JSON text."""
    for sign in sorted(signs):
        escaped = json.dumps(sign)[1:-1]
        for form in (sign, escaped):
            page = page.replace(form, f"[U+{ord(sign):04X}]")
    return page
