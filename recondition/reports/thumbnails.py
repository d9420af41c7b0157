"""Small copies of kept photographs: upright, re-encoded, without any metadata."""

from __future__ import annotations

import io
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

SIDE_PX = 480
_QUALITY = 78


def thumbnail(path: Path) -> bytes | None:
    """Give a small JPEG of a kept picture; None where it is gone or no picture."""
    try:
        with Image.open(path, formats=("JPEG", "PNG")) as picture:
            upright = ImageOps.exif_transpose(picture).convert("RGB")
    except (OSError, SyntaxError, ValueError, UnidentifiedImageError):
        return None
    upright.thumbnail((SIDE_PX, SIDE_PX))
    clean = Image.new("RGB", upright.size)
    clean.paste(upright)
    file = io.BytesIO()
    clean.save(file, "JPEG", quality=_QUALITY, optimize=True)
    return file.getvalue()
