"""The page, the PDF and the JSON: golden text, form, and text that tries to be markup."""

from __future__ import annotations

import dataclasses
import io
import json
import re
from itertools import pairwise
from pathlib import Path

import pypdf
import pytest

from recondition.fields import Words
from recondition.history.layout import Pictures, Table
from recondition.history.sheet import Sheet
from recondition.reports.history_json import FORMAT
from recondition.resources import resource
from tests.golden import same_as_kept
from tests.history.invented import EARLIER, FINDINGS, VEHICLE, findings, sheet
from tests.history.reading import (
    html_of,
    json_of,
    page_of,
    page_text,
    pdf_insides,
    pdf_of,
    pdf_text,
    read_page,
    squeezed,
)
from tests.history.storing import CAR, MADE_ON, stored
from tests.pdf_text import pages_of

GOLDEN = Path(__file__).parent / "golden"


def test_golden() -> None:
    made = sheet(number=3, **EARLIER)
    same_as_kept(GOLDEN / "work-history.json", json_of(made))
    same_as_kept(GOLDEN / "work-history.txt", page_text(html_of(made)))


def _designated(designation: str, words: str = "") -> Sheet:
    """Give a sheet with one finding whose words try something."""
    finding = dataclasses.replace(FINDINGS["f-bonnet"], words=Words(words))
    return sheet(
        vehicle=stored("vehicle", CAR, dataclasses.replace(VEHICLE, designation=designation)),
        findings=(stored("finding", "f-bonnet", finding),),
        outcomes=(),
        lines=(),
    )


HOSTILE = "<script>alert(1)</script> & #panic() $x_1$ *a* `b` \\ {{ page }} [c] @d \"e\" 'f'"


def test_markup_in_words_stays_words_everywhere() -> None:
    made = _designated(HOSTILE, HOSTILE)
    html = html_of(made)
    assert "<script>alert" not in html
    assert page_text(html).count(HOSTILE) >= 3
    assert squeezed(HOSTILE) in squeezed(pdf_text(pdf_of(made)))
    assert json.loads(json_of(made))["name"] == HOSTILE


def test_the_page_is_self_contained() -> None:
    html = html_of(sheet())
    own = html.replace("http://www.w3.org/", "")  # names of the language of drawings, no address
    assert "://" not in own
    assert not re.search(r"<script[^>]*\ssrc=|url\((?!#)|@import|<link|<form|<iframe|<object", html)
    shown = [attrs["src"] for _, attrs in read_page(html).tags if "src" in attrs]
    assert shown
    assert all(str(source).startswith("data:image/") for source in shown)
    links = [attrs["href"] for tag, attrs in read_page(html).tags if "href" in attrs]
    ids = {f"#{attrs['id']}" for _, attrs in read_page(html).tags if "id" in attrs}
    assert links
    assert set(links) <= ids


def test_the_page_has_landmarks_and_headings_in_order() -> None:
    tags = read_page(html_of(sheet())).tags
    names = [tag for tag, _ in tags]
    for landmark in ("header", "nav", "main", "footer"):
        assert names.count(landmark) == 1
    assert dict(tags)["html"] == {"lang": "en-GB"}
    levels = [int(name[1]) for name in names if re.fullmatch(r"h[1-6]", name)]
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_every_table_has_a_caption_and_scoped_headings() -> None:
    made = sheet(number=3, **EARLIER)
    tags = read_page(html_of(made)).tags
    names = [tag for tag, _ in tags]
    blocks = [block for section in page_of(made).sections for block in section.blocks]
    tables = [block for block in blocks if isinstance(block, Table)]
    assert names.count("table") == names.count("caption") == len(tables) == 16
    scopes = {attrs.get("scope") for tag, attrs in tags if tag == "th"}
    assert scopes == {"col", "row"}


def _luminance(colour: str) -> float:
    """Give the relative luminance of #rrggbb (WCAG 2.2, definition of the term)."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    """Give the contrast ratio of two colours (WCAG 2.2)."""
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


# WCAG 2.2: #767676 on white is the lightest grey that reaches 4.5, #777777 does not.
@pytest.mark.parametrize(("grey", "ratio"), [("#767676", 4.5422), ("#777777", 4.4781)])
def test_contrast_is_computed_as_published(grey: str, ratio: float) -> None:
    assert _contrast(grey, "#ffffff") == pytest.approx(ratio, abs=5e-5)


@pytest.mark.parametrize("front", ["ink", "soft", "accent"])
@pytest.mark.parametrize("back", ["paper", "sheet"])
def test_text_of_the_page_has_contrast(front: str, back: str) -> None:
    style = (resource("templates") / "work-history.html.j2").read_text(encoding="utf-8")
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", style))
    assert _contrast(colours[front], colours[back]) >= 4.5


def test_the_pdf_is_tagged_titled_and_of_one_language() -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf_of(sheet())))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"].value is True
    assert root["/Lang"] == "en-GB"
    assert reader.metadata is not None
    assert reader.metadata.title == "Work history: Aldane Corriva 1600 S, 1971"
    assert reader.metadata.author is None
    assert reader.metadata.creation_date is not None
    assert reader.metadata.creation_date.date() == MADE_ON


def test_the_pdf_declares_what_it_conforms_to() -> None:
    inside = pdf_insides(pdf_of(sheet()))
    assert "<pdfuaid:part>1</pdfuaid:part>" in inside
    assert "<pdfaid:part>2</pdfaid:part>" in inside
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in inside


def test_the_pdf_fits_both_papers_without_scaling() -> None:
    # ISO 216: A4 is 210 x 297 mm; ANSI/ASME Y14.1: Letter is 8.5 x 11 in. 72 points to the inch.
    for page in pypdf.PdfReader(io.BytesIO(pdf_of(sheet()))).pages:
        assert float(page.mediabox.width) <= 210 / 25.4 * 72 + 0.01
        assert float(page.mediabox.height) <= 11 * 72 + 0.01


def test_the_pdf_says_what_the_page_says() -> None:
    # Captions, headings and cells alike; only the contents list of the page is not printed.
    printed = squeezed(pdf_text(pdf_of(sheet())))
    html = html_of(sheet())
    main = html[html.index("<main") : html.index("</main>")]
    for line in page_text(main).splitlines():
        assert squeezed(line) in printed, line


# Sixteen lines push the rest by about 80 mm: every table section meets a page's end on the way.
@pytest.mark.parametrize(
    "more", [*range(0, 48, 12), *(pytest.param(n, marks=pytest.mark.long) for n in range(48))]
)
def test_no_heading_stands_alone_at_the_end_of_a_printed_page(more: int) -> None:
    words = Words("\n".join(["Looked for, none seen."] * (more + 1)))
    longer = dataclasses.replace(FINDINGS["f-dash"], words=words)
    told = tuple(
        dataclasses.replace(found, entry=longer) if found.entry == FINDINGS["f-dash"] else found
        for found in findings()
    )
    made = sheet(findings=told)
    with_table = {
        section.heading: next(b for b in section.blocks if isinstance(b, Table)).rows[0][0].lines[0]
        for section in page_of(made).sections
        if any(isinstance(block, Table) for block in section.blocks)
        and not isinstance(section.blocks[0], Pictures)  # a drawing follows its heading
    }
    seen = 0
    for shown in pages_of(pdf_of(made)):
        for heading, first in with_table.items():
            found = re.search(rf"^{re.escape(heading)} *\n", shown, re.MULTILINE)
            if found:
                seen += 1
                after = shown[found.end() :]
                assert re.search(rf"^{re.escape(first)}(?!\w)", after, re.MULTILINE), heading
    assert seen == len(with_table)


def test_the_same_sheet_gives_the_same_bytes() -> None:
    made = sheet()
    assert pdf_of(made) == pdf_of(sheet())
    assert html_of(made) == html_of(sheet())
    assert json_of(made) == json_of(sheet())


@pytest.mark.parametrize(
    ("sign", "shown"),
    [
        ("車", "[U+8ECA]"),
        ("\U0001f600", "[U+1F600]"),
        ("\x07", "[U+0007]"),
        ("\ue000", "[U+E000]"),
        ("Привет", "Привет"),
    ],
)
def test_signs_that_no_embedded_typeface_has_are_numbered(sign: str, shown: str) -> None:
    text = squeezed(pdf_text(pdf_of(_designated(f"Aldane {sign} S", sign * 3))))
    assert f"Aldane{shown}S" in text
    assert shown * 3 in text


def test_words_longer_than_a_page_are_printed_whole() -> None:
    words = " ".join(f"w{number}x" for number in range(1800))
    assert squeezed(words)[-60:] in squeezed(pdf_text(pdf_of(_designated("Aldane", words))))


def test_the_json_is_a_vehicle_in_schema_org_terms() -> None:
    told = json.loads(json_of(sheet()))
    assert (told["@context"], told["@type"]) == ("https://schema.org", "Vehicle")
    assert told["vehicleIdentificationNumber"] == "AC16 S 004 217"
    assert told["mileageFromOdometer"]["value"] == "04237"
    assert told["mileageFromOdometer"]["unitCode"] == "SMI"
    assert "stone chips" in told["knownVehicleDamages"]
    own = told["subjectOf"]
    assert own["format"] == FORMAT
    assert own["chassis_numbers_differ"] is True
    assert own["known_remaining_faults"] == ["2", "4", "8", "9"]
    assert own["anchor"] == {"count": "41", "hash": "9c1f" * 16}


def test_the_json_leaves_out_what_is_not_known() -> None:
    bare = dataclasses.replace(VEHICLE, odometer_shown=None, model_year=None, colour=None)
    told = json.loads(json_of(sheet(vehicle=stored("vehicle", CAR, bare), findings=(), lines=())))
    assert not {"mileageFromOdometer", "vehicleModelDate", "color"} & set(told)
