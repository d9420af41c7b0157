"""``recondition --help`` loads nothing that it does not need."""

from __future__ import annotations

import os
import subprocess
import sys

from tests.house.tree import ROOT

LOADED = (
    "import sys; sys.argv = ['recondition', *sys.argv[1:]]\n"
    "from recondition.cli import main\n"
    "try:\n    main()\n"
    "finally:\n    print(*sorted(sys.modules), sep='\\n', file=sys.stderr)\n"
)
HEAVY = {"alembic", "decimal", "fractions", "jinja2", "matplotlib", "numpy", "openpyxl", "pandas",
         "rich", "sqlalchemy", "typst"}  # fmt: skip


def _loaded(*arguments: str) -> set[str]:
    ran = subprocess.run(
        [sys.executable, "-c", LOADED, *arguments],
        capture_output=True, text=True, check=True, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert ran.stdout
    return set(ran.stderr.split())


def test_help_loads_the_command_line_and_nothing_else() -> None:
    loaded = _loaded("--help")
    assert not {name.split(".")[0] for name in loaded} & HEAVY
    assert {name for name in loaded if name.startswith("recondition")} == {
        "recondition",
        "recondition.cli",
    }


def test_help_of_one_command_loads_no_library_for_pictures_or_workbooks() -> None:
    loaded = {name.split(".")[0] for name in _loaded("history", "--help")}
    # Commands that enter a row read the sheets, and the sheets know the settings of a book.
    assert not loaded & (HEAVY - {"decimal", "fractions", "sqlalchemy"})
