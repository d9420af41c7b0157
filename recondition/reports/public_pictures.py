"""Photographs for the public: upright, encoded anew, nothing kept of the camera or the place.

What a box hides is painted over before anything else is done to the pixels. A JPEG mixes the
pixels of a block with one another, so each box first grows to whole blocks and a little more:
two pictures that differ under a box only are published as the same bytes.
"""

from __future__ import annotations

import io
import os
import warnings
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor
from pathlib import Path

from PIL import ExifTags, Image, ImageCms, JpegImagePlugin, UnidentifiedImageError

from recondition.book.pictures import DAMAGE, PIXELS_MAX
from recondition.errors import Refused

LARGE_PX = 2048
SMALL_PX = 880
BOX_COLOUR = (22, 38, 45)
_QUALITY_LARGE, _QUALITY_SMALL = 82, 72
_WHITE = (255, 255, 255, 255)
_BLOCK_PX = 8
_MARGIN_PX = 1
_WORKERS_MAX = 4
_FORMATS = ("JPEG", "PNG")
_MODES = {"RGB": "RGB", "GRAY": "L", "CMYK": "CMYK"}

# What each EXIF orientation asks for: swap the axes, and which sides are the other way round.
_SWAPPED = frozenset({5, 6, 7, 8})
_LEFT_IS_RIGHT = frozenset({2, 3, 7, 8})
_TOP_IS_BOTTOM = frozenset({3, 4, 6, 7})
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


class PictureNotPublished(Refused):
    """A photograph cannot be made ready for the public."""

    def __init__(self, title: str, why: str) -> None:
        """Name the picture by its title, and say what is wrong with it."""
        super().__init__(
            f"the picture {title!r} cannot be published: {why}",
            todo="Nothing was published. Mend it or leave it out.",
        )


@dataclass(frozen=True, slots=True)
class Box:
    """A part of a picture to hide, in percent of its width and height, seen upright."""

    left: Decimal
    top: Decimal
    width: Decimal
    height: Decimal


@dataclass(frozen=True, slots=True)
class Published:
    """A picture as published: two JPEGs without metadata, and the pixels of the large one.

    The longest side of ``large`` is at most 2048 px, that of ``small`` at most 880 px.
    """

    large: bytes
    small: bytes
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True)
class Item:
    """A picture to publish: where it is kept, what refusals call it, what to hide."""

    path: Path
    title: str
    boxes: tuple[Box, ...] = ()


@dataclass(frozen=True, slots=True)
class _Area:
    """A part of a picture by its edges: shares of its sides, or pixels."""

    left: Fraction
    top: Fraction
    right: Fraction
    bottom: Fraction


def publish(content: bytes, boxes: Sequence[Box] = (), *, title: str = "picture") -> Published:
    """Make a picture ready for the public: the same content and boxes give the same bytes.

    Raises PictureNotPublished for what is no whole JPEG or PNG, for one of more than 80
    million pixels, and for a box that hides nothing.
    """
    with _quiet():
        return _publish(content, boxes, title)


def publish_all(
    items: Sequence[Item],
    *,
    workers: int | None = None,
    told: Callable[[int, int], None] = lambda _done, _of: None,
) -> list[Published]:
    """Publish pictures several at a time, in their order; ``told`` hears (done, of).

    ``told`` is called from the thread of the caller. Only as many pictures are unpacked at
    once as there are ``workers``. Raises PictureNotPublished for the first that fails.
    """
    count = workers or min(os.cpu_count() or 1, _WORKERS_MAX)
    published = []
    with _quiet(), ThreadPoolExecutor(max_workers=count) as pool:
        begun = [pool.submit(_publish_item, item) for item in items]
        try:
            for done, each in enumerate(begun, start=1):
                published.append(each.result())
                told(done, len(items))
        finally:
            pool.shutdown(wait=False, cancel_futures=True)
    return published


@contextmanager
def _quiet() -> Iterator[None]:
    """Refuse far too many pixels, and say nothing of damaged metadata: none of it is kept."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        yield


def _publish_item(item: Item) -> Published:
    """Read one picture and publish it."""
    try:
        content = item.path.read_bytes()
    except OSError as error:
        raise PictureNotPublished(item.title, "its file cannot be read") from error
    return _publish(content, item.boxes, item.title)


def _publish(content: bytes, boxes: Sequence[Box], title: str) -> Published:
    """Publish one picture; what the decoder says becomes a refusal."""
    areas = [_area(box, title) for box in boxes]
    try:
        with Image.open(io.BytesIO(content), formats=_FORMATS) as picture:
            if picture.width * picture.height > PIXELS_MAX:
                why = f"it would unpack to {picture.width:,} x {picture.height:,} pixels"
                raise PictureNotPublished(title, why)
            return _made(picture, areas)
    except UnidentifiedImageError as error:
        raise PictureNotPublished(title, "it is no whole JPEG or PNG picture") from error
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        why = "it would unpack to far more pixels than any camera takes"
        raise PictureNotPublished(title, why) from error
    except DAMAGE as error:
        raise PictureNotPublished(title, "it is damaged or cut short") from error


def _area(box: Box, title: str) -> _Area:
    """Give a box as shares of the sides. Raises PictureNotPublished where it hides nothing."""
    sides = (box.left, box.top, box.width, box.height)
    if not all(side.is_finite() for side in sides):
        raise PictureNotPublished(title, "a box that is to hide a part of it has no size")
    left, top, width, height = (Fraction(side) / 100 for side in sides)
    area = _Area(max(left, Fraction(0)), max(top, Fraction(0)),
                 min(left + width, Fraction(1)), min(top + height, Fraction(1)))  # fmt: skip
    if area.left >= area.right or area.top >= area.bottom:
        raise PictureNotPublished(title, "a box that is to hide a part of it lies beside it")
    return area


def _made(picture: Image.Image, areas: Sequence[_Area]) -> Published:
    """Hide, scale and turn a picture, in this order, and encode it."""
    full = picture.size
    across, down = _blocks(picture)
    picture.draft(None, _fitted(full, LARGE_PX))
    picture.load()
    turn = _orientation(picture)
    hidden = [_grown(_as_stored(area, turn), full, across, down) for area in areas]
    whole = _over_white(picture)
    _burn(whole, 0, hidden, full)
    large = _in_srgb(_scaled(whole, full, LARGE_PX), picture.info.get("icc_profile"))
    _burn(large, BOX_COLOUR, hidden, full)
    small = _scaled(large, full, SMALL_PX)
    _burn(small, BOX_COLOUR, hidden, full)
    width, height = reversed(large.size) if turn in _SWAPPED else large.size
    return Published(
        _encoded(large, turn, _QUALITY_LARGE), _encoded(small, turn, _QUALITY_SMALL), width, height
    )


def _blocks(picture: Image.Image) -> tuple[int, int]:
    """Give the pixels across and down that an encoder mixed with one another; 1 for a PNG."""
    if not isinstance(picture, JpegImagePlugin.JpegImageFile):
        return 1, 1
    parts = picture.layer
    return _BLOCK_PX * max(part[1] for part in parts), _BLOCK_PX * max(part[2] for part in parts)


def _orientation(picture: Image.Image) -> int:
    """Read how the camera was held (EXIF 0x0112); 1, as stored, where that cannot be read."""
    try:
        turn = picture.getexif().get(ExifTags.Base.Orientation)
    except Exception:  # noqa: BLE001 - damaged metadata fails in many ways, the picture is whole
        return 1
    return turn if turn in _TURNS else 1


def _as_stored(area: _Area, turn: int) -> _Area:
    """Turn an area of the upright picture to where it lies in the stored one."""
    across, down = (area.left, area.right), (area.top, area.bottom)
    if turn in _SWAPPED:
        across, down = down, across
    if turn in _LEFT_IS_RIGHT:
        across = (1 - across[1], 1 - across[0])
    if turn in _TOP_IS_BOTTOM:
        down = (1 - down[1], 1 - down[0])
    return _Area(across[0], down[0], across[1], down[1])


def _grown(area: _Area, full: tuple[int, int], across: int, down: int) -> _Area:
    """Grow an area by a pixel and outward to whole blocks, in pixels of the stored picture."""
    left, right = _outward(area.left * full[0], area.right * full[0], across)
    top, bottom = _outward(area.top * full[1], area.bottom * full[1], down)
    return _Area(left, top, right, bottom)


def _outward(low: Fraction, high: Fraction, step: int) -> tuple[Fraction, Fraction]:
    """Grow a stretch by the margin and outward to whole steps."""
    begin = floor((low - _MARGIN_PX) / step) * step
    end = ceil((high + _MARGIN_PX) / step) * step
    return Fraction(begin), Fraction(end)


def _in_srgb(flat: Image.Image, profile: bytes | None) -> Image.Image:
    """Give the colours as sRGB; without a usable profile they are taken as such already."""
    try:
        own = ImageCms.ImageCmsProfile(io.BytesIO(profile or b""))
        if _MODES.get(own.profile.xcolor_space.strip()) == flat.mode:
            srgb = ImageCms.createProfile("sRGB")
            flat = ImageCms.profileToProfile(flat, own, srgb, outputMode="RGB") or flat
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return flat.convert("RGB")
    return flat.convert("RGB")


def _over_white(picture: Image.Image) -> Image.Image:
    """Give a picture of eight bits a channel as RGB, grey or CMYK, what is clear as white."""
    if picture.mode.startswith("I"):
        return picture.convert("I").point(lambda value: value * (1 / 257)).convert("L")
    if picture.has_transparency_data:
        own = picture.convert("RGBA")
        return Image.alpha_composite(Image.new("RGBA", own.size, _WHITE), own).convert("RGB")
    return picture if picture.mode in _MODES.values() else picture.convert("RGB")


def _burn(
    image: Image.Image,
    colour: int | tuple[int, int, int],
    hidden: Sequence[_Area],
    full: tuple[int, int],
) -> None:
    """Paint areas over, given in pixels of the ``full`` picture, and one pixel around them."""
    across, down = Fraction(image.width, full[0]), Fraction(image.height, full[1])
    for area in hidden:
        left, right = floor(area.left * across) - 1, ceil(area.right * across) + 1
        top, bottom = floor(area.top * down) - 1, ceil(area.bottom * down) + 1
        edges = (max(left, 0), max(top, 0), min(right, image.width), min(bottom, image.height))
        image.paste(colour, edges)


def _scaled(image: Image.Image, full: tuple[int, int], side_px: int) -> Image.Image:
    """Scale a picture whose ``full`` size is given down until its longest side fits."""
    return image.resize(_fitted(full, side_px), Image.Resampling.HAMMING, reducing_gap=2.0)


def _fitted(full: tuple[int, int], side_px: int) -> tuple[int, int]:
    """Give the size at which the longest side is at most so many pixels; never a larger one."""
    longest = max(*full, side_px)
    width, height = (max(1, round(Fraction(side * side_px, longest))) for side in full)
    return width, height


def _encoded(image: Image.Image, turn: int, quality: int) -> bytes:
    """Turn an image upright and encode its pixels alone."""
    upright = image.transpose(_TURNS[turn]) if turn in _TURNS else image
    clean = Image.new("RGB", upright.size)
    clean.paste(upright)
    file = io.BytesIO()
    clean.save(file, "JPEG", quality=quality, optimize=True)
    return file.getvalue()
