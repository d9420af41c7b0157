"""The built wheel holds what the tree holds, and runs the demo where nothing else is."""

from __future__ import annotations

import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SHIPPED = ("recondition", "migrations", "templates", "demo_data")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "build", "--wheel", "--outdir", str(folder), str(ROOT)]
    subprocess.run(command, check=True, capture_output=True)
    (built,) = folder.glob("*.whl")
    return built


def _tracked() -> set[str]:
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard", *SHIPPED],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    )
    return set(listed.stdout.split("\n")) - {""}


@pytest.mark.long
def test_the_wheel_holds_every_file_of_the_tree(wheel: Path) -> None:
    inside = set(zipfile.ZipFile(wheel).namelist())
    expected = {
        name if name.startswith("recondition/") else f"recondition/{name}" for name in _tracked()
    }
    packed = {name for name in inside if ".dist-info/" not in name}
    assert packed == expected


@pytest.mark.long
def test_the_installed_wheel_runs_the_demo(wheel: Path, tmp_path: Path) -> None:
    # The wheel alone is installed, away from the tree; libraries come from this interpreter.
    venv.create(tmp_path / "env", with_pip=False, symlinks=True)
    python = tmp_path / "env" / "bin" / "python"
    target = tmp_path / "site"
    zipfile.ZipFile(wheel).extractall(target)
    libraries = [path for path in sys.path if path.endswith("site-packages")]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(target), *libraries])}
    code = (
        "import recondition, sys; from recondition.cli import main;"
        "assert recondition.__file__.startswith(sys.argv.pop(1)); main()"
    )
    run = subprocess.run(
        [str(python), "-c", code, str(target), "demo", "--into", "out"],
        cwd=tmp_path, env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    made = sorted(path.name for path in (tmp_path / "out" / "reports").iterdir())
    assert made == [
        "books.xlsx",
        "cost-and-uplift.html",
        "work-history-evidence",
        "work-history-manifest.json",
        "work-history-release.json",
        "work-history.html",
        "work-history.json",
        "work-history.pdf",
        "worth-doing.html",
    ]
