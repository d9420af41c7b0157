"""Small real pictures, whole and hostile, made anew for each test."""

from __future__ import annotations

import io
import struct
import zlib
from typing import TYPE_CHECKING

from PIL import Image

if TYPE_CHECKING:
    from pathlib import Path


def picture(kind: str = "PNG", size: tuple[int, int] = (48, 32), shade: int = 90) -> bytes:
    """Give the bytes of a plain picture."""
    file = io.BytesIO()
    Image.new("RGB", size, (shade, 120, 150)).save(file, kind)
    return file.getvalue()


def photograph(taken: str, zone: str = "", *, shade: int = 90, place: bool = False) -> bytes:
    """Give a JPEG as a camera writes it: its time, its zone, and where asked its place."""
    image = Image.new("RGB", (64, 48), (shade, 110, 130))
    exif = Image.Exif()
    inner = {0x9003: taken}
    if zone:
        inner[0x9011] = zone
    exif[0x8769] = inner
    exif[0xA430] = "Somebody's camera"
    if place:
        exif[0x8825] = {1: "N", 2: (44.0, 30.0, 5.0)}
    file = io.BytesIO()
    image.save(file, "JPEG", exif=exif)
    return file.getvalue()


def _chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def bomb(width: int = 30_000, height: int = 30_000) -> bytes:
    """Give a small PNG that says that it unpacks to very many pixels."""
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    rows = zlib.compress(b"\0" * 4096, 9)
    parts = (_chunk(b"IHDR", head), _chunk(b"IDAT", rows), _chunk(b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def hostile(folder: Path) -> dict[str, str]:
    """Fill a folder with files that are no photographs; give why each is refused, by name."""
    whole = picture("JPEG")
    files = {
        "cut.jpg": (whole[: len(whole) // 2], "damaged or cut short"),
        "bomb.png": (bomb(), "pixels"),
        "page.jpg": (b"<html><script>alert(1)</script></html>", "no JPEG or PNG"),
        "drawing.svg": (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no JPEG or PNG"),
        "empty.png": (b"", "empty"),
        "head-only.png": (b"\x89PNG\r\n\x1a\n" + b"\0" * 40, "whole JPEG or PNG"),
        "paper.pdf": (b"%PDF-1.4\n%%EOF\n", "no JPEG or PNG"),
        "program.exe": (b"MZ\x90\0" + bytes(200), "kind is not known"),
        "..\u202egpj.\x1b[2Jtrick": (b"not a picture", "no JPEG or PNG"),
    }
    for name, (content, _) in files.items():
        (folder / name).write_bytes(content)
    (folder / "link.jpg").symlink_to("/etc/hostname")
    (folder / "inner.jpg").mkdir()
    reasons = {name: why for name, (_, why) in files.items()}
    return reasons | {"link.jpg": "no ordinary file", "inner.jpg": "no ordinary file"}
