"""The top of the tree, the README's two commands, and the guide for contributors."""

from __future__ import annotations

import re

import pytest

from tests.house.tree import ROOT, tracked

TOP = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "recondition", "migrations", "tests",
    "templates", "demo_data",
}  # fmt: skip
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_top_holds_the_fixed_set_and_dot_files() -> None:
    names = {path.relative_to(ROOT).parts[0] for path in tracked()}
    assert {name for name in names if not name.startswith(".")} == TOP


def test_the_readme_starts_with_two_commands_and_ci_runs_them() -> None:
    section = README.split("## Two commands")[1].split("\n## ")[0]
    commands = re.findall(r"```sh\n(.*?)```", section, re.DOTALL)
    assert len(commands) == 2
    demo, tests = (command.strip() for command in commands)
    assert demo.endswith("recondition demo")
    assert tests.endswith(".venv/bin/pytest")
    ci = (ROOT / ".ci/run").read_text(encoding="utf-8").splitlines()
    install, test = tests.rsplit(" && ", 1)
    assert install in ci
    assert test in ci


def _rows() -> list[tuple[str, str]]:
    """Give the rows of the table: what is added, and the cell that says where."""
    table = GUIDE.split("## Where do I add")[1].split("\n## ")[0]
    rows = [line.strip("|").split("|") for line in table.splitlines() if line.startswith("| ")]
    return [(row[0].strip(), row[1]) for row in rows[1:]]


def test_the_table_answers_what_is_asked_most() -> None:
    wanted = {"line-item kind", "record kind", "report", "import column", "command", "error",
              "setting", "migration"}  # fmt: skip
    assert wanted <= {what.removeprefix("a ").removeprefix("an ") for what, _ in _rows()}


@pytest.mark.parametrize(("what", "where"), _rows())
def test_the_table_names_places_that_are_there(what: str, where: str) -> None:
    places = re.findall(r"`([\w./*<>-]+/[\w./*<>-]*)`(?: \(`([\w, `]+)`\))?", where)
    assert places, what
    for place, names in places:
        found = [*ROOT.glob(place.replace("<", "*").replace(">", "*"))]
        assert found, f"{place} is not there"
        text = "".join(path.read_text(encoding="utf-8") for path in found if path.is_file())
        for name in re.findall(r"\w+", names):
            assert re.search(rf"\b{name}\b", text), f"{name} is not in {place}"
