"""What a picture file carries besides its picture: every block of metadata, by name and content.

JPEG and PNG are walked block by block, with no library between: a block is either one that a
picture needs to be shown, or it is told. What lies behind the end of the picture is told too.
"""

from __future__ import annotations

import io
import re
import struct
import warnings
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from PIL import ExifTags, Image

from recondition.book.pictures import DAMAGE

JPEG = b"\xff\xd8\xff"
PNG = b"\x89PNG\r\n\x1a\n"
BEHIND = "bytes behind the end of the picture"

_UNPACKED_MAX = 16 * 1024 * 1024
_TRIES_MAX = 1000
_SOS, _EOI, _APP0, _APP14, _COMMENT = 0xDA, 0xD9, 0xE0, 0xEE, 0xFE
_BARE = frozenset({0x01, *range(0xD0, 0xD8)})
_APPS = range(0xE0, 0xF0)
_JFIF_HEAD_BYTES, _ADOBE_BYTES = 14, 12
# ISO/IEC 15948 (PNG), with the three chunks of moving pictures left out: these draw the picture.
_NEEDED = frozenset({
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"sBIT", b"bKGD",
    b"pHYs",
})  # fmt: skip
_NAMES = (
    (b"Exif\0", "EXIF"),
    (b"http://ns.adobe.com/xap/1.0/\0", "XMP"),
    (b"http://ns.adobe.com/xmp/extension/\0", "XMP"),
    (b"Photoshop 3.0\0", "IPTC"),
    (b"ICC_PROFILE\0", "ICC profile"),
    (b"JFIF\0", "JFIF thumbnail"),
    (b"JFXX\0", "JFIF thumbnail"),
    (b"MPF\0", "further pictures"),
)
_PNG_NAMES = {b"eXIf": "EXIF", b"iCCP": "ICC profile", b"tIME": "time of change"}
_PNG_TEXTS = frozenset({b"tEXt", b"zTXt", b"iTXt"})
_EXIF_IFDS = (ExifTags.IFD.Exif, ExifTags.IFD.GPSInfo, ExifTags.IFD.Interop)


# How a packed text begins (RFC 1950), whatever came before it.
_PACKED = re.compile(b"\x78[\x01\x5e\x9c\xda\x20\x3f\x7d\xbb\xf9]")


class NoPicture(ValueError):  # noqa: N818 - said of bytes, not an error of ours
    """Bytes are no JPEG or PNG, or their blocks do not follow one another."""


@dataclass(frozen=True, slots=True)
class Block:
    """One block of metadata: its name and its bytes."""

    name: str
    content: bytes


def is_picture(content: bytes) -> bool:
    """Tell whether bytes begin as a JPEG or PNG does."""
    return content.startswith((JPEG, PNG))


def blocks_in(content: bytes) -> list[Block]:
    """Give every block that is not needed to show the picture. Raises NoPicture."""
    try:
        if content.startswith(JPEG):
            return list(_jpeg_blocks(content))
        if content.startswith(PNG):
            return list(_png_blocks(content))
    except (IndexError, struct.error) as error:
        message = "it is cut short"
        raise NoPicture(message) from error
    message = "it is no JPEG or PNG"
    raise NoPicture(message)


def _jpeg_blocks(content: bytes) -> Iterator[Block]:
    """Walk the segments of a JPEG (ITU-T T.81) to its end and beyond."""
    at = 2
    while True:
        if content[at] != 0xFF:  # noqa: PLR2004 - every marker begins with it
            message = "its segments do not follow one another"
            raise NoPicture(message)
        marker = content[at + 1]
        if marker == _EOI:
            break
        if marker == 0xFF or marker in _BARE:  # noqa: PLR2004 - a fill byte
            at += 1 if marker == 0xFF else 2  # noqa: PLR2004 - as above
            continue
        (length,) = struct.unpack_from(">H", content, at + 2)
        body = content[at + 4 : at + 2 + length]
        if not _is_needed(marker, body):
            yield Block(_jpeg_name(marker, body), body)
        at += 2 + length
        if marker == _SOS:
            at = _after_scan(content, at)
    if content[at + 2 :]:
        yield Block(BEHIND, content[at + 2 :])


def _is_needed(marker: int, body: bytes) -> bool:
    """Tell whether a segment draws the picture: a plain JFIF head and the colour mark do."""
    if marker == _APP0:
        return body.startswith(b"JFIF\0") and len(body) == _JFIF_HEAD_BYTES
    if marker == _APP14:
        return body.startswith(b"Adobe") and len(body) == _ADOBE_BYTES
    return marker not in _APPS and marker != _COMMENT


def _jpeg_name(marker: int, body: bytes) -> str:
    """Name a segment of metadata."""
    if marker == _COMMENT:
        return "comment"
    known = (name for start, name in _NAMES if body.startswith(start))
    return next(known, f"application segment {marker - _APP0}")


def _after_scan(content: bytes, at: int) -> int:
    """Skip the coded picture up to the next marker that is neither a restart nor a stuffed byte."""
    while True:
        at = content.find(b"\xff", at)
        if at < 0:
            message = "it is cut short"
            raise NoPicture(message)
        if content[at + 1] and not 0xD0 <= content[at + 1] <= 0xD7:  # noqa: PLR2004 - restarts
            return at
        at += 2


def _png_blocks(content: bytes) -> Iterator[Block]:
    """Walk the chunks of a PNG to its end and beyond."""
    at, name = len(PNG), b""
    while name != b"IEND":
        length, name = struct.unpack_from(">I4s", content, at)
        body = content[at + 8 : at + 8 + length]
        if name not in _NEEDED:
            called = "text" if name in _PNG_TEXTS else f"chunk {name.decode('latin-1')}"
            body = _unpacked(body) if name in {b"zTXt", b"iTXt", b"iCCP"} else body
            yield Block(_PNG_NAMES.get(name, called), body)
        at += 12 + length
    if content[at:]:
        yield Block(BEHIND, content[at:])


def _unpacked(body: bytes) -> bytes:
    """Give a chunk with what is packed in it unpacked behind, wherever that begins.

    Raises NoPicture where it could begin in very many places: nobody can tell what is in it.
    """
    whole = memoryview(body)
    for tried, found in enumerate(_PACKED.finditer(body)):
        at = found.start()
        if tried == _TRIES_MAX:
            message = "what is packed in it cannot be told"
            raise NoPicture(message)
        try:
            unpacked = zlib.decompressobj().decompress(whole[at:], _UNPACKED_MAX)
        except zlib.error:
            continue
        return body[:at] + b"\0" + unpacked
    return body


def names_of(blocks: list[Block]) -> list[str]:
    """Name blocks, each name once; an EXIF block is followed by its tags and its thumbnail."""
    named = []
    for block in blocks:
        named.append(block.name)
        if block.name == "EXIF":
            named += _exif_names(block.content)
        elif block.name == BEHIND and is_picture(block.content):
            named.append("a second picture")
    return list(dict.fromkeys(named))


def _exif(content: bytes) -> Image.Exif:
    """Read an EXIF block; what cannot be read is empty."""
    exif = Image.Exif()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        exif.load(content)
    return exif


def _exif_names(content: bytes) -> list[str]:
    """Name the tags of an EXIF block."""
    try:
        exif = _exif(content)
        tags = [(tag, ExifTags.TAGS) for tag in exif]
        for ifd in _EXIF_IFDS:
            known = ExifTags.GPSTAGS if ifd is ExifTags.IFD.GPSInfo else ExifTags.TAGS
            tags += [(tag, known) for tag in exif.get_ifd(ifd)]
        thumbnail = ["EXIF thumbnail"] if exif.get_ifd(ExifTags.IFD.IFD1) else []
    except DAMAGE:
        return []
    return [f"EXIF {known.get(tag, hex(tag))}" for tag, known in tags] + thumbnail


def texts_in(block: Block) -> list[str]:
    """Give the bytes of a block as text, in each way that cameras write text."""
    body = block.content
    told = [body.decode("utf-8", "replace")]
    if b"\0" in body:
        told += [body[at:].decode(form, "ignore") for at in (0, 1) for form in _WIDE]
    return ["".join(sign if sign.isprintable() else " " for sign in text) for text in told]


_WIDE = ("utf-16-le", "utf-16-be")


def place_of(content: bytes) -> tuple[Decimal, Decimal] | None:
    """Give the latitude and longitude of a picture's EXIF block in decimal degrees, else None."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(content), formats=("JPEG", "PNG")) as picture:
                gps = picture.getexif().get_ifd(ExifTags.IFD.GPSInfo)
        latitude = _degrees(gps[ExifTags.GPS.GPSLatitude], gps.get(ExifTags.GPS.GPSLatitudeRef))
        longitude = _degrees(gps[ExifTags.GPS.GPSLongitude], gps.get(ExifTags.GPS.GPSLongitudeRef))
    except (*DAMAGE, Image.DecompressionBombError):
        return None
    return (latitude, longitude) if latitude or longitude else None


def _degrees(parts: Any, side: Any) -> Decimal:  # noqa: ANN401 - as the library hands them over
    """Give degrees, minutes and seconds as decimal degrees to a millionth; south, west below 0."""
    whole = sum(
        Fraction(part.numerator, part.denominator) / 60**step for step, part in enumerate(parts)
    )
    side = side.decode("ascii", "replace") if isinstance(side, bytes) else side
    degrees = Decimal(round(whole * 10**6)).scaleb(-6)
    return -degrees if str(side).strip("\0 ").upper() in {"S", "W"} else degrees
