"""What is in a PDF: the text of its pages, and every text, picture and file in its objects."""

from __future__ import annotations

import io
import logging
import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import unescape
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pypdf import PdfReader

# A paper of a thousand pages has some ten thousand.
OBJECTS_MAX = 200_000
_SPOKEN = re.compile(rb"/(?:ActualText|Alt|E) ?(?=\(|<[^<])")
# A file's own number, 16 bytes as base64, which can spell a short name by chance.
_NUMBER_OF_ITS_OWN = re.compile(r"(?<=ID>)[A-Za-z0-9+/]{22}==(?=[<_])")
_PARTED = dict.fromkeys((0x2, 0xFFFE))
_SPOKEN_MAX_BYTES = 64 * 1024


class NoPdf(ValueError):  # noqa: N818 - said of bytes, not an error of ours
    """Bytes are no PDF that can be read to its last object; says why."""


@dataclass(slots=True)
class Inside:
    """The texts of a PDF, the JPEG files and the attached files in it, by object."""

    texts: list[str] = field(default_factory=list)
    pictures: list[tuple[str, bytes]] = field(default_factory=list)
    attached: list[tuple[str, bytes]] = field(default_factory=list)


def quiet() -> None:
    """Keep what the library says of small damages from a user; what matters is refused."""
    library = logging.getLogger("pypdf")
    library.addHandler(logging.NullHandler())
    library.propagate = False


def inside(content: bytes) -> Inside:
    """Open a PDF to its last object. Raises NoPdf."""
    quiet()
    from pypdf import PdfReader  # noqa: PLC0415 - heavy, and only for this
    from pypdf.errors import PyPdfError  # noqa: PLC0415 - as above

    damaged = (
        PyPdfError,
        ArithmeticError,
        AssertionError,
        EOFError,
        MemoryError,
        OSError,
        ValueError,
        zlib.error,
        LookupError,
        TypeError,
        AttributeError,
        RecursionError,
        RuntimeError,
    )
    found = Inside()
    try:
        reader = PdfReader(io.BytesIO(content))
        if not reader.is_encrypted:
            found.texts.append(_pages(content))
            found.texts += [str(value) for value in (reader.metadata or {}).values()]
            _objects(found, reader)
            return found
    except NoPdf:
        raise
    except damaged as error:
        message = f"it is damaged ({type(error).__name__})"
        raise NoPdf(message) from error
    message = "it is encrypted"
    raise NoPdf(message)


def _pages(content: bytes) -> str:
    """Give the text of every page; a sign that stands for a parted word is left out."""
    import pypdfium2  # noqa: PLC0415 - as above

    with pypdfium2.PdfDocument(content) as opened:
        texts = [page.get_textpage().get_text_bounded() for page in opened]
    return "\n".join(text.translate(_PARTED) for text in texts)


def _objects(found: Inside, reader: PdfReader) -> None:
    """Read every object: properties, outline, notes, structure with its alternative texts."""
    from pypdf.generic import IndirectObject, StreamObject  # noqa: PLC0415 - as above

    count = int(reader.trailer.get("/Size", 0))
    if count > OBJECTS_MAX:
        message = f"it says that it has {count:,} objects"
        raise NoPdf(message)
    for number in range(1, count):
        thing = reader.get_object(IndirectObject(number, 0, reader))
        found.texts += _texts(thing)
        if isinstance(thing, StreamObject):
            _stream(found, f"object {number}", thing)


def _texts(value: Any) -> list[str]:  # noqa: ANN401 - any object of a PDF
    """Give every text within one object, without following references."""
    from pypdf.generic import ByteStringObject, TextStringObject  # noqa: PLC0415 - as above

    match value:
        case dict():
            return [text for item in value.values() for text in _texts(item)]
        case list():
            return [text for item in value for text in _texts(item)]
        case TextStringObject():
            return [str(value)]
        case ByteStringObject():
            return [bytes(value).decode("latin-1")]
    return []


def _stream(found: Inside, name: str, stream: Any) -> None:  # noqa: ANN401 - pypdf's own type
    """Read a stream: metadata, an attachment, a picture, or the hidden texts of a page.

    A picture that is no JPEG is bare pixels and has nothing beside them.
    """
    if stream.get("/Subtype") == "/Image":
        if "/DCTDecode" in str(stream.get("/Filter", "")):
            found.pictures.append((name, stream.get_data()))
        return
    content = stream.get_data()
    if stream.get("/Type") == "/Metadata":
        found.texts.append(_NUMBER_OF_ITS_OWN.sub("", unescape(content.decode("utf-8", "replace"))))
    elif stream.get("/Type") == "/EmbeddedFile":
        found.attached.append((name, content))
    else:
        found.texts += _hidden(content)


def _hidden(content: bytes) -> Iterator[str]:
    """Give the texts that stand for others in the drawing of a page, and are read aloud."""
    from pypdf.generic import (  # noqa: PLC0415 - as above
        read_hex_string_from_stream,
        read_string_from_stream,
    )

    for spoken in _SPOKEN.finditer(content):
        from_here = content[spoken.end() : spoken.end() + _SPOKEN_MAX_BYTES]
        hexed = from_here.startswith(b"<")
        reads = read_hex_string_from_stream if hexed else read_string_from_stream
        yield from _texts(reads(io.BytesIO(from_here)))
