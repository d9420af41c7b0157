"""The work history as one self-contained page, for a phone, a desk and paper.

The page holds its pictures and its proof and asks nothing of any other place. Its script only
checks the page against that proof; what it shows stands there without it.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from html.parser import HTMLParser
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from recondition.history.strictly import embedded
from recondition.history.wording import LABELS
from recondition.history.wording_proof import CHECK_WORDS, ON_PAPER
from recondition.reports.html import environment
from recondition.resources import resource

if TYPE_CHECKING:
    from recondition.history.layout import Page


@dataclass(frozen=True, slots=True)
class Art:
    """A picture that stands in the page: its kind and its bytes."""

    media_type: str
    content: bytes

    @property
    def sha256(self) -> str:
        """The hash of its bytes, in hex."""
        return hashlib.sha256(self.content).hexdigest()

    @property
    def address(self) -> str:
        """The picture as an address that a page can hold in itself."""
        return f"data:{self.media_type};base64,{base64.b64encode(self.content).decode()}"


@dataclass(frozen=True, slots=True)
class Proven:
    """What a page says of its own proof: short code, fingerprint of the key, and the proof."""

    code: str = ""
    fingerprint: str = ""
    proof: Mapping[str, Any] | None = None


def to_html(page: Page, art: Mapping[str, Art], proven: Proven) -> str:
    """Draw a layout as a page; its element for the seal is empty.

    ``art`` gives every picture by the name of its record. Words are escaped; what goes in as
    it is was made here: script, JSON without angle brackets, addresses of pictures.
    """
    script = (resource("templates") / "history-check.js").read_text(encoding="utf-8")
    allowed = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return (
        environment()
        .get_template("work-history.html.j2")
        .render(
            page=page,
            labels=LABELS | {"on_paper": ON_PAPER},
            art={name: each.address for name, each in art.items()},
            proven=proven,
            proof=_raw(embedded(proven.proof or {})),
            check_words=_raw(embedded(CHECK_WORDS)),
            script=_raw(script),
            allowed=allowed,
        )
    )


def _raw(text: str) -> Markup:
    """Let a text through unescaped that this program wrote for the inside of a script element."""
    return Markup(text)  # noqa: S704 - no angle bracket of a user's can be in it


class _Shown(HTMLParser):
    """Collects the text that a page shows, by the piece of the page that it stands in."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.pieces: dict[str, list[str]] = {}
        self._open: list[tuple[str, str | None]] = []
        self._run = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """End a run of text, and note what piece begins."""
        self._flush()
        if tag in _VOID:
            return
        known = dict(attrs)
        inner = known.get("data-record") or ("" if "data-proof" in known else None)
        self._open.append((tag, self._piece() if inner is None else inner))

    def handle_startendtag(self, _tag: str, _attrs: list[tuple[str, str | None]]) -> None:
        """End a run of text; an element without content shows none."""
        self._flush()

    def handle_endtag(self, tag: str) -> None:
        """End a run of text, and go back to the piece around."""
        self._flush()
        while self._open:
            if self._open.pop()[0] == tag:
                break

    def handle_data(self, data: str) -> None:
        """Note text; a run is what stands between two tags."""
        self._run += data

    def close(self) -> None:
        """End the last run."""
        super().close()
        self._flush()

    def _piece(self) -> str | None:
        return self._open[-1][1] if self._open else None

    def _flush(self) -> None:
        text, self._run = " ".join(self._run.split()), ""
        piece = self._piece()
        hidden = self._open and self._open[-1][0] in ("script", "style")
        if text and piece and not hidden:
            self.pieces.setdefault(piece, []).append(text)


_VOID = frozenset({"br", "col", "hr", "img", "input", "link", "meta", "wbr"})


def shown_by(html: str) -> dict[str, list[str]]:
    """Give what a page shows: the runs of text of each piece, in the order of the page.

    A piece is what stands within an element with ``data-record``, down to the next such; blanks
    are squeezed, and what a proof element holds is no part of any.
    """
    reader = _Shown()
    reader.feed(html)
    reader.close()
    return reader.pieces
