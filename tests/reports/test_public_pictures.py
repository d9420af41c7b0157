"""Published photographs: upright, nothing in them but pixels, nothing left under a box."""

from __future__ import annotations

import io
import threading
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ExifTags, Image, ImageCms, ImageDraw, PngImagePlugin

from recondition.reports.public_pictures import (
    BOX_COLOUR,
    LARGE_PX,
    SMALL_PX,
    Box,
    Item,
    PictureNotPublished,
    publish,
    publish_all,
)
from tests.pictures import bomb, hostile, photograph, picture

MARK = "PLANTED-MARK-4417"
CORNERS = ((220, 30, 30), (30, 160, 40), (40, 60, 210), (230, 200, 40))
# What a JPEG needs to be shown, by marker: picture header, tables, restart interval, scan.
_NEEDED = {0xE0, 0xDB, 0xC0, 0xC2, 0xC4, 0xDA, 0xDD}
_BARE_JFIF_BYTES = 16
# Tags that tell of a place, a person or a device (check-values 14): where, and of the camera
# time and zone, unique number, owner, and the numbers of body and lens.
PLACE_TAGS = range(0x1F)
CAMERA_TAGS = (0x9003, 0x9011, 0xA420, 0xA430, 0xA431, 0xA435)
_PLACE_TEXTS = (1, 3, 8, 9, 10, 12, 14, 16, 18, 19, 21, 23, 25, 29)


def opened(content: bytes) -> Image.Image:
    return Image.open(io.BytesIO(content))


def saved(image: Image.Image, kind: str, **more: Any) -> bytes:
    file = io.BytesIO()
    image.save(file, kind, **more)
    return file.getvalue()


def box(left: float, top: float, width: float, height: float) -> Box:
    return Box(*(Decimal(str(each)) for each in (left, top, width, height)))


def pixels(image: Image.Image) -> list[tuple[int, ...]]:
    """Give the colours of all pixels, row by row."""
    return list(zip(*[iter(image.tobytes())] * 3, strict=True))


def far(one: Any, other: Any) -> int:
    """Give the largest difference of two colours in any channel."""
    return max(abs(a - b) for a, b in zip(one, other, strict=True))


def segments(jpeg: bytes) -> list[tuple[int, int]]:
    """Walk a JPEG (ITU-T T.81, B.1.1): marker and length of every segment up to the very end."""
    assert jpeg[:2] == b"\xff\xd8"
    at, found = 2, []
    while jpeg[at : at + 2] != b"\xff\xd9":
        assert jpeg[at] == 0xFF
        marker, length = jpeg[at + 1], int.from_bytes(jpeg[at + 2 : at + 4], "big")
        found.append((marker, length))
        at += 2 + length
        while marker == 0xDA and (jpeg[at] != 0xFF or jpeg[at + 1] in (0, *range(0xD0, 0xD8))):
            at += 1
    assert at + 2 == len(jpeg)
    return found


def assert_bare(jpeg: bytes) -> None:
    """Nothing is in the file but what shows the pixels."""
    found = segments(jpeg)
    assert {marker for marker, _ in found} <= _NEEDED
    assert [length for marker, length in found if marker == 0xE0] == [_BARE_JFIF_BYTES]
    assert MARK.encode() not in jpeg
    assert not opened(jpeg).getexif()
    assert not set(opened(jpeg).info) & {"exif", "xmp", "comment", "icc_profile", "photoshop"}


def private_exif() -> Image.Exif:
    """Plant every tag of the published list (EXIF 2.32, check-values 14)."""
    exif = Image.Exif()
    exif[0x8825] = {tag: MARK if tag in _PLACE_TEXTS else _other(tag) for tag in PLACE_TAGS}
    exif[0x8769] = dict.fromkeys(CAMERA_TAGS, MARK)
    exif[ExifTags.Base.Artist] = exif[ExifTags.Base.Make] = MARK
    return exif


def _other(tag: int) -> Any:
    """Give a value of the kind that a tag of the place holds."""
    if tag in (0, 5, 27, 28):
        return b"\2\3\0\0" if tag in (0, 5) else MARK.encode()
    return 1 if tag == 30 else (44.0, 30.0, 5.0) if tag in (2, 4, 7, 20, 22) else 44.5


def full_of_marks() -> bytes:
    """Make a JPEG with EXIF, XMP, IPTC, a comment, a thumbnail and bytes after its end."""
    plain = Image.new("RGB", (64, 48), (120, 130, 140))
    thumb = saved(plain.resize((16, 12)), "JPEG")
    content = saved(
        plain, "JPEG", exif=private_exif(), comment=MARK,
        xmp=f"<x:xmpmeta xmlns:x='adobe:ns:meta/'>{MARK}</x:xmpmeta>".encode(),
        icc_profile=ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes(),
    )  # fmt: skip
    iptc = b"Photoshop 3.0\x008BIM\x04\x04\0\0\0\0\0\x16\x1c\x02\x69\0\x11" + MARK.encode()
    inner = b"JFXX\0\x10" + thumb
    extra = b"".join(
        bytes((0xFF, marker)) + (len(body) + 2).to_bytes(2, "big") + body
        for marker, body in ((0xED, iptc), (0xE0, inner), (0xEB, MARK.encode()))
    )
    return content[:2] + extra + content[2:] + MARK.encode()


def test_nothing_of_the_metadata_is_in_what_is_published() -> None:
    content = full_of_marks()
    tags = opened(content).getexif()
    assert set(tags.get_ifd(0x8825)) == set(PLACE_TAGS)
    assert set(tags.get_ifd(0x8769)) == set(CAMERA_TAGS)
    assert content.count(MARK.encode()) > 20
    out = publish(content)
    assert_bare(out.large)
    assert_bare(out.small)


def test_text_in_a_png_stays_behind() -> None:
    told = PngImagePlugin.PngInfo()
    told.add_text("Author", MARK)
    told.add_itxt("XML:com.adobe.xmp", f"<x>{MARK}</x>", zip=True)
    content = saved(
        Image.new("RGB", (40, 30)), "PNG", pnginfo=told, exif=private_exif(), dpi=(300, 300)
    )
    out = publish(content)
    assert_bare(out.large)
    assert_bare(out.small)


def four_corners(size: tuple[int, int] = (96, 64)) -> Image.Image:
    """Draw a colour in each corner: top left, top right, bottom left, bottom right."""
    image = Image.new("RGB", size, (128, 128, 128))
    drawn = ImageDraw.Draw(image)
    half = (size[0] // 2, size[1] // 2)
    for at, colour in enumerate(CORNERS):
        left, top = half[0] * (at % 2), half[1] * (at // 2)
        drawn.rectangle((left, top, left + half[0] - 1, top + half[1] - 1), colour)
    return image


# How the upright picture is turned to be stored, by its EXIF orientation (Exif 2.32, 4.6.4).
_STORED = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
@pytest.mark.parametrize("turn", _STORED)
def test_every_orientation_comes_out_upright_with_its_box_in_place(turn: int, kind: str) -> None:
    upright, way = four_corners(), _STORED[turn]
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = turn
    kept = upright.transpose(way) if way is not None else upright
    out = publish(saved(kept, kind, exif=exif), [box(60, 10, 15, 20)])
    assert (out.width_px, out.height_px) == opened(out.large).size == (96, 64)
    image = opened(out.large)
    for place, colour in zip(((4, 4), (91, 4), (4, 59), (91, 59)), CORNERS, strict=True):
        assert far(image.getpixel(place), colour) < 24, place
    assert far(image.getpixel((64, 12)), BOX_COLOUR) < 24


def test_an_orientation_that_means_nothing_is_passed_over() -> None:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 9
    out = publish(saved(four_corners(), "JPEG", exif=exif))
    assert (out.width_px, out.height_px) == (96, 64)


def striped(under: Image.Image, edges: tuple[int, int, int, int], step: int) -> Image.Image:
    """Put a hard pattern into a part of a picture."""
    image = under.copy()
    drawn = ImageDraw.Draw(image)
    for at in range(edges[0], edges[2]):
        shade = (255, 255, 255) if (at // step) % 2 else (255, 0, 255)
        drawn.line((at, edges[1], at, edges[3] - 1), shade)
    return image


SIZES = st.tuples(st.integers(200, 330), st.integers(150, 250))
SHARES = st.tuples(
    st.integers(0, 700), st.integers(0, 700), st.integers(60, 600), st.integers(60, 600)
)


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
@settings(max_examples=12, deadline=None)
@given(size=SIZES, shares=SHARES, turn=st.sampled_from(sorted(_STORED)))
def test_what_lies_under_a_box_is_gone(
    kind: str, size: tuple[int, int], shares: tuple[int, int, int, int], turn: int
) -> None:
    """Pictures that differ under the box alone come out the same, and the box is one colour."""
    hidden = box(*(share / 10 for share in shares))
    left, top = shares[0] * size[0] // 1000 + 1, shares[1] * size[1] // 1000 + 1
    right = min((shares[0] + shares[2]) * size[0] // 1000, size[0])
    bottom = min((shares[1] + shares[3]) * size[1] // 1000, size[1])
    plain, exif = Image.linear_gradient("L").resize(size).convert("RGB"), Image.Exif()
    exif[ExifTags.Base.Orientation] = turn
    outs = []
    for step in (1, 3):
        upright = striped(plain, (left, top, right, bottom), step)
        way = _STORED[turn]
        kept = upright.transpose(way) if way is not None else upright
        outs.append(publish(saved(kept, kind, exif=exif, quality=80), [hidden]))
    assert outs[0] == outs[1]
    inside = opened(outs[0].large).crop((left, top, right, bottom))
    for colour in pixels(inside):
        assert far(colour, BOX_COLOUR) < 72
    deep = inside.crop((16, 16, max(inside.width - 16, 17), max(inside.height - 16, 17)))
    if inside.width > 33 and inside.height > 33:
        assert all(far(colour, BOX_COLOUR) < 6 for colour in pixels(deep))


@pytest.mark.parametrize("sampling", ["4:4:4", "4:2:2", "4:2:0"])
@pytest.mark.parametrize("progressive", [False, True])
def test_scaling_carries_nothing_out_of_a_box(sampling: str, *, progressive: bool) -> None:
    """A picture so large that it is unpacked at a smaller scale."""
    plain = Image.linear_gradient("L").resize((4301, 1207)).convert("RGB")
    outs = [
        publish(
            saved(striped(plain, (1000, 300, 2000, 700), step), "JPEG", quality=70,
                  subsampling=sampling, progressive=progressive),
            [Box(Decimal(100000) / 4301, Decimal(30000) / 1207, Decimal(100000) / 4301,
                 Decimal(40000) / 1207)],
        )
        for step in (1, 5)
    ]  # fmt: skip
    assert outs[0] == outs[1]
    assert opened(outs[0].large).size == (2048, 575)
    assert opened(outs[0].small).size == (SMALL_PX, 247)
    for content, wide in ((outs[0].large, LARGE_PX), (outs[0].small, SMALL_PX)):
        middle = opened(content).getpixel((wide * 1500 // 4301, wide * 500 // 4301))
        assert far(middle, BOX_COLOUR) < 6


def test_a_small_picture_is_not_made_larger() -> None:
    out = publish(picture("PNG", (300, 900)))
    assert (out.width_px, out.height_px) == (300, 900)
    assert opened(out.small).size == (293, 880)


SHADES = [
    (Image.new("RGBA", (32, 32), (200, 30, 40, 0)), (255, 255, 255)),
    (Image.new("RGBA", (32, 32), (200, 30, 40, 128)), (227, 142, 147)),
    (Image.new("LA", (32, 32), (10, 0)), (255, 255, 255)),
    (Image.new("L", (32, 32), 77), (77, 77, 77)),
    (Image.new("1", (32, 32), 1), (255, 255, 255)),
    (Image.new("I;16", (32, 32), 100 * 257), (100, 100, 100)),
    (Image.new("RGB", (32, 32), (12, 200, 90)).quantize(4), (12, 200, 90)),
]


@pytest.mark.parametrize("image_and_shade", SHADES, ids=lambda pair: str(pair[0].mode))
def test_every_kind_of_pixel_comes_out_over_white(
    image_and_shade: tuple[Image.Image, tuple[int, int, int]],
) -> None:
    image, shade = image_and_shade
    out = opened(publish(saved(image, "PNG"), [box(0, 0, 20, 20)]).large)
    assert out.mode == "RGB"
    assert far(out.getpixel((26, 26)), shade) <= 4
    assert far(out.getpixel((2, 2)), BOX_COLOUR) <= 24


def test_a_clear_colour_of_a_palette_is_white() -> None:
    image = Image.new("P", (16, 16), 0)
    image.putpalette([200, 0, 0, 0, 200, 0])
    out = opened(publish(saved(image, "PNG", transparency=0)).large)
    assert far(out.getpixel((8, 8)), (255, 255, 255)) <= 2


def test_ink_for_print_comes_out_as_light() -> None:
    out = opened(publish(saved(Image.new("CMYK", (32, 32), (0, 255, 255, 0)), "JPEG")).large)
    assert out.mode == "RGB"
    assert far(out.getpixel((16, 16)), (255, 0, 0)) <= 6


def test_a_colour_profile_is_followed_and_left_out() -> None:
    """A profile of CIE L*a*b* fits no RGB picture; one of another white and tone does."""
    image = Image.new("RGB", (32, 32), (100, 150, 200))
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    bare = publish(saved(image, "PNG"))
    for useless in (lab, b"no profile at all"):
        assert publish(saved(image, "PNG", icc_profile=useless)) == bare
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    red, green = srgb.index(b"rXYZ"), srgb.index(b"gXYZ")
    swapped = bytearray(srgb)
    swapped[red : red + 4], swapped[green : green + 4] = b"gXYZ", b"rXYZ"
    out = publish(saved(image, "PNG", icc_profile=bytes(swapped)), [box(0, 0, 20, 20)])
    assert_bare(out.large)
    assert far(opened(out.large).getpixel((24, 24)), (150, 100, 200)) <= 6
    assert far(opened(out.large).getpixel((2, 2)), BOX_COLOUR) <= 24


def test_what_is_no_picture_is_refused_by_its_title(tmp_path: Path) -> None:
    for name in hostile(tmp_path):
        path = tmp_path / name
        with pytest.raises(PictureNotPublished, match="'Left side'"):
            publish_all([Item(path, "Left side")] if not path.is_symlink() else
                        [Item(tmp_path / "gone.jpg", "Left side")])  # fmt: skip
    for content, why in ((bomb(), "pixels"), (bomb(10_000, 8_001), "80,010,000|10,000 x 8,001"),
                         (picture("BMP"), "no whole"), (b"", "no whole"),
                         (picture("JPEG")[:-60], "damaged")):  # fmt: skip
        with pytest.raises(PictureNotPublished, match=why):
            publish(content)


@pytest.mark.parametrize(
    "hidden", [box(10, 10, 0, 5), box(120, 0, 5, 5), box(5, 5, -9, 5),
               Box(Decimal("NaN"), Decimal(0), Decimal(5), Decimal(5))]
)  # fmt: skip
def test_a_box_that_hides_nothing_is_refused(hidden: Box) -> None:
    with pytest.raises(PictureNotPublished, match="a box"):
        publish(picture(), [hidden])


def test_a_box_over_the_edge_hides_up_to_the_edge() -> None:
    out = opened(publish(picture("PNG", (64, 64)), [box(-20, -20, 140, 140)]).large)
    assert all(far(colour, BOX_COLOUR) <= 2 for colour in pixels(out))


def test_many_come_in_their_order_and_progress_is_told_here(tmp_path: Path) -> None:
    items = []
    for at in range(9):
        path = tmp_path / f"{at}.jpg"
        path.write_bytes(photograph("2025:04:03 10:00:00", shade=20 * at))
        items.append(Item(path, f"picture {at}", (box(0, 0, 10, 10),)))
    heard: list[tuple[int, int]] = []
    here: set[int] = set()

    def told(done: int, of: int) -> None:
        heard.append((done, of))
        here.add(threading.get_ident())

    out = publish_all(items, workers=3, told=told)
    assert heard == [(done, 9) for done in range(1, 10)]
    assert here == {threading.get_ident()}
    assert out == [publish(i.path.read_bytes(), i.boxes, title=i.title) for i in items]
    assert len({each.large for each in out}) == 9
    assert publish_all([]) == []


def test_the_first_that_fails_is_named(tmp_path: Path) -> None:
    whole, broken = tmp_path / "a.jpg", tmp_path / "b.jpg"
    whole.write_bytes(picture("JPEG"))
    broken.write_bytes(b"nothing of the kind")
    items = [Item(whole, "one"), Item(broken, "two"), Item(broken, "three")]
    with pytest.raises(PictureNotPublished, match="'two'"):
        publish_all(items, workers=2)
