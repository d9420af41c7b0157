"""Labels: drawn so that they can be read again, and hostile pictures refused."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

import pytest
import segno
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from recondition.web import bench_labels
from recondition.web.bench_labels import LabelNotRead, code_of, read_label
from tests.pictures import bomb, picture
from tests.web.visitors import post_json, signed_in

if TYPE_CHECKING:
    from flask.testing import FlaskClient

    from recondition.book.engine import Book


@pytest.fixture
def bench(shop_book: Book) -> FlaskClient:
    """Give a preparer at the bench of the demo's shop."""
    return signed_in(shop_book, "preparer", "TA")


def code(text: str, kind: str = "png", scale: int = 6) -> bytes:
    file = io.BytesIO()
    segno.make_qr(text).save(file, kind=kind, scale=scale, border=4)
    return file.getvalue()


def shot_of(*texts: str, size: tuple[int, int] = (2400, 1600)) -> bytes:
    """Give a JPEG of codes on a bench, turned a little, as a camera takes it."""
    bench = Image.new("RGB", size, (190, 186, 178))
    for number, text in enumerate(texts):
        label = Image.open(io.BytesIO(code(text, scale=14))).convert("RGB")
        turned = label.rotate(11, expand=True, fillcolor=(190, 186, 178))
        bench.paste(turned, (300 + 900 * number, 400))
    file = io.BytesIO()
    bench.save(file, "JPEG", quality=70)
    return file.getvalue()


def read(client: FlaskClient, content: bytes, name: str = "label.jpg") -> object:
    answer = post_json(client, "/bench/read-label", picture=(io.BytesIO(content), name))
    said = answer.json
    return said["label"] if "label" in said else (answer.status_code, said["what"])


def test_a_label_is_read_off_a_photograph(bench: FlaskClient) -> None:
    assert read(bench, shot_of("K-07")) == "K-07"
    assert read(bench, code("PAD-1")) == "PAD-1"
    assert "no code in it" in str(read(bench, picture("JPEG")))
    assert "several codes" in str(read(bench, shot_of("K-07", "K-08")))
    assert "not the label of a container" in str(read(bench, code("K-07\x00")))
    assert "not the label of a container" in str(read(bench, code("K" * 101)))


def test_hostile_pictures_are_refused(bench: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = code("K-07")
    for content in (b"", b"<svg/>", whole[:-30], bomb(), b"GIF89a" + whole):
        status, what = read(bench, content)  # type: ignore[misc]
        assert (status, what[:17]) == (422, "no label was read")
    monkeypatch.setattr(bench_labels, "PICTURE_MAX_BYTES", 100)
    assert "larger than" in str(read(bench, whole))
    assert post_json(bench, "/bench/read-label").status_code == 422


@given(st.binary(max_size=400))
def test_no_bytes_do_harm(tail: bytes) -> None:
    whole = code("K-07")
    for content in (tail, whole[:40] + tail, whole[: len(whole) // 2] + tail):
        with pytest.raises(LabelNotRead):
            read_label(content)


def test_the_page_draws_what_can_be_read_again(bench: FlaskClient) -> None:
    answer = bench.get("/stock/labels?container=K-01&container=PAD-1")
    text = answer.get_data(as_text=True)
    assert len(re.findall(r'<svg [^>]*class="code"', text)) == 2
    assert "style=" not in text.split("<main")[1]
    assert "<strong>PAD-1</strong>" in text
    assert bench.get("/stock/labels?container=K-99").status_code == 404


PRINTED = st.characters(min_codepoint=32, max_codepoint=0x2FFF).filter(str.isprintable)


@settings(max_examples=15)
@given(st.text(PRINTED, min_size=1, max_size=20))
def test_each_drawn_code_says_its_label(label: str) -> None:
    drawn = str(code_of(label))
    path = re.search(r' d="([^"]+)"', drawn)
    side = re.search(r'viewBox="0 0 (\d+) ', drawn)
    assert path is not None
    assert side is not None
    assert zxingcpp.read_barcodes(_squares(path[1], int(side[1])))[0].text == label


def _squares(path: str, side: int) -> Image.Image:
    """Fill in the squares that a drawn path runs through."""
    image = Image.new("L", (side, side), 255)
    across, down = 0.0, 0.0
    for step, one, other in re.findall(r"([Mmh])(-?[\d.]+)(?: (-?[\d.]+))?", path):
        if step == "M":
            across, down = float(one), float(other)
        elif step == "m":
            across, down = across + float(one), down + float(other)
        else:
            for at in range(int(float(one))):
                image.putpixel((int(across) + at, int(down)), 0)
            across += float(one)
    return image.resize((side * 5, side * 5), Image.Resampling.NEAREST)
