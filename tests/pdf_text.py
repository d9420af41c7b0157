"""The text of a PDF, page by page, as another program than ours reads it."""

from __future__ import annotations

import pypdfium2


def pages_of(pdf: bytes) -> list[str]:
    """Give the text of each page."""
    with pypdfium2.PdfDocument(pdf) as opened:
        texts = [page.get_textpage().get_text_bounded() for page in opened]
    return [text.replace("\r\n", "\n") for text in texts]
