"""Labels of containers: printed with their code, and read off a picture of one."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from flask import Blueprint, jsonify, render_template, request
from markupsafe import Markup

from recondition.book import reading
from recondition.book.pictures import fault_of
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.web.bench_photographs import NoPhotograph
from recondition.web.stock import PARTS
from recondition.web.visit import needs, the_book

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

    from recondition.book import Connection

pages = Blueprint("bench_labels", __name__)

PICTURE_MAX_BYTES = 16 * 1024 * 1024
SIDE_MAX_PX = 1600
LABEL_MAX = 100


class LabelNotRead(Refused):
    """A picture of a label in which no code is found."""

    def __init__(self, why: str) -> None:
        """Say why."""
        super().__init__(
            f"no label was read: {why}",
            todo="Take the picture again, nearer and without glare; or type the label.",
        )


@pages.post("/bench/read-label")
@needs(Right.BENCH)
def read() -> ResponseReturnValue:
    """Read the code in a picture, where the browser cannot do so itself."""
    sent = request.files.get("picture")
    if sent is None:
        raise NoPhotograph
    content = sent.stream.read(PICTURE_MAX_BYTES + 1)
    if len(content) > PICTURE_MAX_BYTES:
        raise LabelNotRead(why="the picture is larger than 16 MB")
    return jsonify({"label": read_label(content)})


def read_label(content: bytes) -> str:
    """Give the text of the one code in a JPEG or PNG picture. Raises LabelNotRead.

    The picture is held against the bounds of every photograph before it is unpacked, and made
    small before it is looked through.
    """
    fault = fault_of(content)
    if fault:
        raise LabelNotRead(fault)
    import zxingcpp  # noqa: PLC0415 - only where a label is read
    from PIL import Image, ImageOps  # noqa: PLC0415 - as above

    with Image.open(io.BytesIO(content), formats=("JPEG", "PNG")) as picture:
        picture.draft("L", (SIDE_MAX_PX, SIDE_MAX_PX))
        grey = ImageOps.exif_transpose(picture.convert("L"))
        grey.thumbnail((SIDE_MAX_PX, SIDE_MAX_PX))
        found = zxingcpp.read_barcodes(grey, text_mode=zxingcpp.TextMode.Plain)
    texts = list(dict.fromkeys(code.text.strip() for code in found))
    if len(texts) != 1:
        raise LabelNotRead("several codes are in it" if texts else "there is no code in it")
    if not 0 < len(texts[0]) <= LABEL_MAX or not texts[0].isprintable():
        raise LabelNotRead(why="its code is not the label of a container")
    return texts[0]


@pages.get("/stock/labels")
@needs(Right.BENCH, Right.BOOKS)
def labels() -> ResponseReturnValue:
    """Show labels to print, several a page, on A4 and Letter paper."""
    wanted = request.args.getlist("container")
    with the_book().reading() as conn:
        there = _containers(conn)
        for label in wanted:
            reading.id_of(conn, "container", label)
    shown = [each for each in there if each[0] in wanted] if wanted else []
    return render_template(
        "web/labels.html.j2", there=there, wanted=wanted, parts=PARTS,
        labels=[(label, name, code_of(label)) for label, name in shown],
    )  # fmt: skip


def _containers(conn: Connection) -> list[tuple[str, str]]:
    """List the containers that are not emptied, each with what it holds."""
    names = {each.id: each.entry.name for each in reading.stored(conn, "product")}
    held = (c for c in reading.stored(conn, "container") if c.entry.emptied_on is None)
    return sorted((c.ref, names[c.entry.product]) for c in held)


def code_of(label: str) -> Markup:
    """Draw a label's QR code as SVG that takes the room it is given (ISO/IEC 18004)."""
    import segno  # noqa: PLC0415 - only where labels are drawn

    # What is not plain ASCII is written as bytes that name their encoding: a reader would have to
    # guess it else.
    plain = label.isascii()
    mode = None if plain else "byte"
    made = segno.make_qr(label, error="m", mode=mode, encoding="utf-8", eci=not plain)
    drawn = made.svg_inline(border=2, omitsize=True, svgclass="code", lineclass=None)
    return Markup(drawn)  # noqa: S704 - drawn here; the label stands in it as squares
