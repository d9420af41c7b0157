"""Every command has help, stands in the README and is run by a test."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click
import pytest

from recondition.cli import cli, command_names, short_help
from tests.house.tree import ROOT

if TYPE_CHECKING:
    from collections.abc import Iterator


def _walk(command: click.Command, path: str) -> Iterator[tuple[str, click.Command]]:
    yield path, command
    if isinstance(command, click.Group):
        ctx = click.Context(command)
        for name in command.list_commands(ctx):
            inner = command.get_command(ctx, name)
            assert inner is not None
            yield from _walk(inner, f"{path} {name}")


README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS = dict(_walk(cli, "recondition"))
LEAVES = [path for path, command in COMMANDS.items() if not isinstance(command, click.Group)]
READING = {
    "list", "show", "plan", "report", "check", "rehearse", "parts", "limit",
    "moves", "trace", "reorder", "opened", "unrecorded",
    "where", "links", "trail", "sampling", "words", "estimate", "editions", "consents",
}  # fmt: skip
PLAYED = "\n".join(
    path.read_text(encoding="utf-8")
    for folder in ("cli", "errors")
    for path in sorted((ROOT / "tests" / folder).rglob("*"))
    if path.suffix in {".py", ".txt"}
)


@pytest.mark.parametrize("path", COMMANDS)
def test_every_command_and_option_has_help(path: str) -> None:
    command = COMMANDS[path]
    assert command.help
    assert command.help.strip().splitlines()[0][0].isupper()
    options = [param for param in command.params if isinstance(param, click.Option)]
    assert [option.name for option in options if not option.help] == []


def test_short_help_is_the_first_line_of_the_module_and_ends() -> None:
    for name, module in command_names().items():
        assert short_help(module).endswith("."), name


@pytest.mark.parametrize("name", command_names())
def test_every_command_stands_in_the_table_of_the_readme(name: str) -> None:
    table = [line for line in README.splitlines() if line.startswith("| `")]
    assert any(f"`{name}`" in line.split("|")[1] for line in table)


@pytest.mark.parametrize("path", LEAVES)
def test_every_command_is_run_by_a_test(path: str) -> None:
    assert any(f"{path}{end}" in PLAYED for end in (" ", '"', "\n"))


@pytest.mark.parametrize("path", LEAVES)
def test_reading_commands_give_json(path: str) -> None:
    of_the_books = path.startswith("recondition books ")
    reading = of_the_books or path.rsplit(maxsplit=1)[-1] in READING or path in {
        "recondition mix", "recondition ladder", "recondition caution",
        "recondition history verify",
    }  # fmt: skip
    options = {flag for param in COMMANDS[path].params for flag in param.opts}
    assert ("--json" in options) == reading
