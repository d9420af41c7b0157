"""Compares what was printed with a kept text; what differs from run to run is masked.

``GOLDEN_UPDATE=1 pytest`` on tests/cli, errors, history and intake writes them anew; read the
difference before keeping it.
"""

from __future__ import annotations

import os
import re
from datetime import datetime
from difflib import unified_diff
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

MASKS = (
    (r"\b[0-9a-f]{32,64}\b", "<hex>"),
    (r"\b20[0-2]\d-\d\d-\d\dT[\d:.]+(?:Z|[+-]\d\d:\d\d)?", "<moment>"),
    (r"\brecondition \d+\.\d+\S*", "recondition <version>"),
    # Of a key, of a work history, of a hit that stopped one; a key itself.
    (r"\b(?!XXXX)(?:[0-9A-Z]{4}-){7}[0-9A-Z]{4}\b", "<fingerprint>"),
    (r"\b(?!XXXX)(?:[0-9A-Z]{4}-){3}[0-9A-Z]{4}\b", "<short code>"),
    (r"^( +)[0-9a-z]{8}(?=  [a-z]+ ')", r"\1<code>"),
    (r"[0-9A-Za-z+/]{43}=", "<key>"),
    (r"[ \t]+$", ""),
)


def masked(text: str, folder: Path | None = None) -> str:
    """Take out days, moments, hashes, the version and the folder of the test."""
    if folder is not None:
        text = text.replace(f"{folder}/", "").replace(str(folder), "<folder>")
    # As wide as what they stand for, so that tables keep their columns.
    today = datetime.now().astimezone().date().isoformat()
    days = ((re.escape(today), "YYYY-MM-DD"), (rf"\b{today[:7]}\b(?!-)", "YYYY-MM"))
    for pattern, instead in (*MASKS, *days):
        text = re.sub(pattern, instead, text, flags=re.MULTILINE)
    return text


def same_as_kept(path: Path, text: str) -> None:
    """Assert that a masked text is the one that was kept."""
    if os.environ.get("GOLDEN_UPDATE"):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    assert path.exists(), f"no kept text {path.name}; write it with GOLDEN_UPDATE=1"
    kept = path.read_text(encoding="utf-8")
    lines = unified_diff(kept.splitlines(), text.splitlines(), "kept", "now", lineterm="")
    assert text == kept, "\n".join(lines)
