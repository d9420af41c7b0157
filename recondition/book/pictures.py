"""Looking at a picture before it is kept: its kind, its size, and whether it is whole.

The bytes themselves are never touched. A picture is opened as JPEG or PNG only, whatever its
name says, and its size is read before any of it is unpacked.
"""

from __future__ import annotations

import io
import struct
import warnings
from dataclasses import dataclass
from datetime import datetime

from PIL import ExifTags, Image, UnidentifiedImageError

PIXELS_MAX = 80_000_000
# How decoding ends on bytes that are damaged, or made to do harm.
DAMAGE = (
    ArithmeticError,
    AssertionError,
    AttributeError,
    EOFError,
    LookupError,
    MemoryError,
    OSError,
    RuntimeError,
    SyntaxError,
    TypeError,
    ValueError,
    struct.error,
)
_FORMATS = ("JPEG", "PNG")


def fault_of(content: bytes) -> str:
    """Say why a picture cannot be kept; empty where it can."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            with Image.open(io.BytesIO(content), formats=_FORMATS) as picture:
                width, height = picture.size
                if width * height > PIXELS_MAX:
                    return f"it would unpack to {width:,} x {height:,} pixels"
                picture.verify()
            with Image.open(io.BytesIO(content), formats=_FORMATS) as picture:
                picture.load()
    except UnidentifiedImageError:
        return "it is no whole JPEG or PNG picture"
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        return "it would unpack to far more pixels than any camera takes"
    except (*DAMAGE, Warning):
        return "the picture in it is damaged or cut short"
    return ""


@dataclass(frozen=True, slots=True)
class Taken:
    """What the camera wrote: its clock's time, and the zone where it knew one (``+02:00``)."""

    at: datetime
    zone: str


def taken_by_camera(content: bytes) -> Taken | None:
    """Read when the camera says that a picture was taken, None where it does not say."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(content), formats=_FORMATS) as picture:
                tags = picture.getexif().get_ifd(ExifTags.IFD.Exif)
        at = datetime.strptime(str(tags[ExifTags.Base.DateTimeOriginal]), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007 - the zone stands in another tag
        return Taken(at, str(tags.get(ExifTags.Base.OffsetTimeOriginal, "")).strip())
    except (*DAMAGE, Image.DecompressionBombError):
        return None
