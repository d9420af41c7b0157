"""Opening every finished output again, to see what is really in it.

Nothing here trusts how an output was made. A page gives its text, attributes, comments, styles
and scripts; a PDF its pages and every object inside; a picture whatever stands beside its
picture. What a ``data:`` address holds is opened as well. Metadata of any kind in a picture is
a hit by itself.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import io
import json
import lzma
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from html.parser import HTMLParser
from typing import Any, NoReturn
from urllib.parse import unquote_to_bytes

from recondition.book.archives import TooManyMembers, open_zip
from recondition.errors import Refused
from recondition.history.net import Hit, Secret, Sort
from recondition.history.strictly import NotStrict, read
from recondition.reports.reopened_pdf import NoPdf, inside
from recondition.reports.reopened_pictures import (
    NoPicture,
    blocks_in,
    is_picture,
    names_of,
    place_of,
    texts_in,
)

MEMBERS_MAX = 2000
UNPACKED_MAX_BYTES = 2 * 1000**3
_DEEPEST = 3
_NO_ZIP = (
    EOFError,
    OSError,
    OverflowError,
    RuntimeError,
    ValueError,
    lzma.LZMAError,
    struct.error,
    zipfile.BadZipFile,
    zlib.error,
)
_ADDRESS = re.compile(
    r"data:([a-z]+/[a-z0-9.+-]+)?((?:;[a-z0-9=-]+)*),([A-Za-z0-9+/=%_.~!*:@&$-]*)", re.IGNORECASE
)
_BREAKS = re.compile(
    "address|article|aside|blockquote|body|br|caption|d[dltv]|div|fig.*|foot.*|form|h[1-6r]|head.*"
    "|html|img|li|main|nav|[ou]l|option|p|pre|section|script|style|svg|t.*"
)


class OutputNotReadable(Refused):
    """A finished output cannot be opened again, so nobody can tell what is in it."""

    def __init__(self, name: str, why: str) -> None:
        """Name the output and say why."""
        super().__init__(
            f"{name} cannot be opened again: {why}",
            todo="Nothing was released. Make it again; leave a file out that stays unreadable.",
        )


@dataclass(slots=True)
class _Opened:
    """What one output holds: its texts, and the pictures in it with where each stands.

    ``depth`` is how many files within files are open; ``bytes_left`` what may still be unpacked.
    """

    name: str
    texts: list[str] = field(default_factory=list)
    pictures: list[tuple[str, bytes]] = field(default_factory=list)
    depth: int = 0
    bytes_left: int = UNPACKED_MAX_BYTES

    def refuse(self, name: str, why: str) -> NoReturn:
        """Refuse the whole output for the file of that name in it."""
        raise OutputNotReadable(self.name, why if name == self.name else f"{name}: {why}")


def texts_of(name: str, content: bytes) -> list[str]:
    """Give everything readable in an output, opened by the ending of its name.

    Knows .html, .svg, .pdf, .json, .jpg, .png, .txt and .zip; any other name is opened by what
    its bytes are. Raises OutputNotReadable, also for a zip of more than 2,000 members or 2 GB.
    """
    return _open(name, content).texts


def metadata_in(content: bytes) -> list[str]:
    """Name the blocks of metadata in a JPEG or PNG; none for a clean one.

    EXIF is followed by its tags. Raises OutputNotReadable for what is no whole JPEG or PNG.
    """
    _picture(_Opened("a picture"), "a picture", content)
    return names_of(blocks_in(content))


def places_in(content: bytes) -> tuple[Decimal, Decimal] | None:
    """Give where a kept photograph was taken, as latitude and longitude; None if not said.

    Decimal degrees, south and west below zero, from EXIF. Both zero means a camera without fix.
    """
    return place_of(content)


def reopened(outputs: Mapping[str, bytes]) -> tuple[dict[str, list[str]], list[Hit]]:
    """Open outputs by name; give the texts of each, and a hit for all metadata of a picture.

    Raises OutputNotReadable.
    """
    texts, hits = {}, []
    for name, content in outputs.items():
        opened = _open(name, content)
        texts[name] = opened.texts
        for place, picture in opened.pictures:
            hits += [Hit(name, secret, "") for secret in _metadata(place, picture)]
    return texts, list(dict.fromkeys(hits))


def _metadata(place: str, picture: bytes) -> Iterator[Secret]:
    """Make a private thing of each block of metadata; the picture is named by its hash."""
    which = hashlib.sha256(picture).hexdigest()[:12]
    for name in metadata_in(picture):
        yield Secret(Sort.METADATA, f"{name} in picture {which}", place)


def _open(name: str, content: bytes) -> _Opened:
    """Open one output."""
    opened = _Opened(name)
    _read(opened, name, content)
    return opened


def _read(opened: _Opened, name: str, content: bytes) -> None:
    """Read a file into what is opened, by its name's ending, else by its first bytes."""
    ending = name.lower().rpartition(".")[2]
    _READERS.get(ending, _by_bytes)(opened, name, content)


def _by_bytes(opened: _Opened, name: str, content: bytes) -> None:
    """Read what has no known ending: by its first bytes, else as text."""
    begins = ((b"%PDF", _pdf), (b"PK\x03\x04", _zip), (b"PK\x05\x06", _zip))
    if is_picture(content):
        _picture(opened, name, content)
        return
    reader = next((each for start, each in begins if content.startswith(start)), _text)
    reader(opened, name, content)


def _decoded(opened: _Opened, name: str, content: bytes) -> str:
    """Read UTF-8, strictly."""
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        opened.refuse(name, "it is no text in UTF-8")


def _text(opened: _Opened, name: str, content: bytes) -> None:
    """Read plain text."""
    _say(opened, name, _decoded(opened, name, content))


def _say(opened: _Opened, name: str, text: str) -> None:
    """Keep a text, and open what its ``data:`` addresses hold."""
    opened.texts.append(text)
    for number, found in enumerate(_ADDRESS.finditer(text) if "data:" in text else (), start=1):
        _address(opened, f"{name}, address {number}", found)


def _address(opened: _Opened, name: str, found: re.Match[str]) -> None:
    """Open the content of a ``data:`` address; a typeface or sound holds nothing to read."""
    content = unquote_to_bytes(found[3])
    if found[2].lower().endswith(";base64"):
        try:
            content = base64.b64decode(content)
        except binascii.Error:
            opened.refuse(name, "it is no Base64")
    kind = (found[1] or "text/plain").lower()
    if kind.startswith(("font/", "audio/", "video/")):
        return
    _deeper(opened, f"{name}.{kind.partition('+')[0].rpartition('/')[2]}", content)


def _deeper(opened: _Opened, name: str, content: bytes) -> None:
    """Read a file within a file, to a depth."""
    if opened.depth == _DEEPEST:
        opened.refuse(name, "it lies too deep in it")
    opened.depth += 1
    _read(opened, name, content)
    opened.depth -= 1


class _Page(HTMLParser):
    """Collects the visible text of a page in one, and everything else text by text."""

    def __init__(self) -> None:
        """Start with nothing read."""
        super().__init__()
        self.seen: list[str] = []
        self.others: list[str] = []
        self.scripts: list[str] = []
        self._within = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note attributes; a block begins a new line."""
        self.others += [value for _, value in attrs if value]
        if _BREAKS.fullmatch(tag):
            self.seen.append("\n")
        if tag == "script":
            self.scripts.append("")
        self._within = tag

    def handle_endtag(self, tag: str) -> None:
        """End a block's line."""
        if _BREAKS.fullmatch(tag):
            self.seen.append("\n")
        self._within = ""

    def handle_data(self, data: str) -> None:
        """Note text; that of a script may come in pieces."""
        if self._within == "script":
            self.scripts[-1] += data
        else:
            self.seen.append(data)

    def handle_comment(self, data: str) -> None:
        """Note a comment."""
        self.others.append(data)

    def handle_decl(self, decl: str) -> None:
        """Note what a page says of its own kind."""
        self.others.append(decl)

    def handle_pi(self, data: str) -> None:
        """Note an instruction to a program."""
        self.others.append(data)

    def unknown_decl(self, data: str) -> None:
        """Note a marked section."""
        self.others.append(data)


def _html(opened: _Opened, name: str, content: bytes) -> None:
    """Read a page or a drawing."""
    page = _Page()
    page.feed(_decoded(opened, name, content))
    page.close()
    for text in ("".join(page.seen), *dict.fromkeys(page.others)):
        _say(opened, name, text)
    for script in page.scripts:
        _say(opened, name, script)
        try:
            found = json.loads(script, parse_float=str, parse_int=str)
        except (ValueError, RecursionError):
            continue
        opened.texts += _strings(found)


def _strings(value: Any) -> Iterator[str]:  # noqa: ANN401 - JSON holds anything
    """Give every text of a JSON value, names and numbers too."""
    match value:
        case str():
            yield value
        case int():
            yield str(value)
        case list():
            for item in value:
                yield from _strings(item)
        case dict():
            for name, item in value.items():
                yield name
                yield from _strings(item)


def _json(opened: _Opened, name: str, content: bytes) -> None:
    """Read JSON strictly, as it is checked later."""
    try:
        found = read(_decoded(opened, name, content))
    except NotStrict as error:
        opened.refuse(name, str(error))
    for text in _strings(found):
        _say(opened, name, text)


def _picture(opened: _Opened, name: str, content: bytes) -> None:
    """Read what stands beside a picture."""
    try:
        blocks = blocks_in(content)
    except NoPicture as error:
        opened.refuse(name, str(error))
    opened.pictures.append((name, content))
    opened.texts += [text for block in blocks for text in texts_in(block)]
    place = place_of(content) if blocks else None
    if place is not None:
        opened.texts.append(f"{place[0]}, {place[1]}")


def _pdf(opened: _Opened, name: str, content: bytes) -> None:
    """Read a PDF: all its texts, the pictures and the files in it."""
    try:
        found = inside(content)
    except NoPdf as error:
        opened.refuse(name, str(error))
    opened.texts += found.texts
    for place, picture in found.pictures:
        _picture(opened, f"{name}, {place}", picture)
    for place, attached in found.attached:
        _deeper(opened, f"{name}, {place}", attached)


def _zip(opened: _Opened, name: str, content: bytes) -> None:
    """Read the members of a zip, their names and remarks, within bounds."""
    try:
        with open_zip(io.BytesIO(content), MEMBERS_MAX) as packed:
            members = [each for each in packed.infolist() if not each.filename.endswith("/")]
            opened.bytes_left -= sum(each.file_size for each in members)
            if len(members) > MEMBERS_MAX or opened.bytes_left < 0:
                opened.refuse(name, f"it has more than {MEMBERS_MAX:,} members or 2 GB")
            opened.texts.append(packed.comment.decode("utf-8", "replace"))
            for each in members:
                opened.texts += [each.filename, each.comment.decode("utf-8", "replace")]
                _deeper(opened, each.filename, packed.read(each))
    except TooManyMembers:
        opened.refuse(name, f"it has more than {MEMBERS_MAX:,} members or 2 GB")
    except _NO_ZIP as error:
        opened.refuse(name, f"it is no whole zip ({error})")


_READERS: dict[str, Callable[[_Opened, str, bytes], None]] = {
    **dict.fromkeys(("html", "htm", "svg", "xml"), _html),
    **dict.fromkeys(("jpg", "jpeg", "png"), _picture),
    "pdf": _pdf,
    "json": _json,
    "txt": _text,
    "plain": _text,
    "zip": _zip,
}
