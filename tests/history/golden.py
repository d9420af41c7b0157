"""The golden outputs of the invented vehicle; run this module to write them anew.

``python -m tests.history.golden`` writes; look at the difference before keeping it.
"""

from __future__ import annotations

from pathlib import Path

from recondition.reports.history_html import to_html
from recondition.reports.history_json import to_json
from tests.history.invented import sheet
from tests.history.reading import page_text

FOLDER = Path(__file__).parent / "golden"


def outputs() -> dict[str, str]:
    """Give what the golden files should hold, by file name."""
    made = sheet()
    return {"work-history.json": to_json(made), "work-history.txt": page_text(to_html(made))}


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, text in outputs().items():
        (FOLDER / name).write_text(text, encoding="utf-8")
