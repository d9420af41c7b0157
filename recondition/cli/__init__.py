"""The command line. Each module of this package is one command, found by walking it.

A module's first line is the command's short help, so that ``recondition --help`` need not
import what the commands import.
"""

from __future__ import annotations

import os
import sys
from importlib import import_module
from pathlib import Path

import click

FOLDER = Path(__file__).parent


def command_names() -> dict[str, Path]:
    """Give every command's name and module; names that start with ``_`` are not commands."""
    modules = (path for path in FOLDER.glob("*.py") if not path.name.startswith("_"))
    return {path.stem.rstrip("_").replace("_", "-"): path for path in sorted(modules)}


def short_help(module: Path) -> str:
    """Read the first line of a module, which is its docstring's first line."""
    with module.open(encoding="utf-8") as file:
        return file.readline().strip().strip('"').strip()


class Commands(click.Group):
    """The commands of this package, imported only when one is used."""

    def list_commands(self, _ctx: click.Context) -> list[str]:
        """List the names."""
        return list(command_names())

    def get_command(self, _ctx: click.Context, name: str) -> click.Command | None:
        """Import one command's module and give its command."""
        module = command_names().get(name)
        if module is None:
            return None
        command: click.Command = import_module(f"{__name__}.{module.stem}").command
        return command

    def invoke(self, ctx: click.Context) -> object:
        """Run a command; a number below zero that was taken for an option is said to be one."""
        try:
            return super().invoke(ctx)
        except click.NoSuchOption as error:
            if not error.option_name.lstrip("-")[:1].isdigit():
                raise
            message = (
                f"{error.option_name} begins a number below zero, and was taken for an option. "
                "Hours, amounts and prices are above zero; where one may be below it, write -- "
                "before the first word that is no option."
            )
            raise click.UsageError(message, ctx=error.ctx) from None

    def format_commands(self, _ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands without importing them."""
        rows = [(name, short_help(module)) for name, module in command_names().items()]
        with formatter.section("Commands"):
            formatter.write_dl(rows)


@click.command(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="recondition", message="recondition %(version)s")
@click.option("--book", metavar="PATH-OR-URL", help="Which book; also in RECONDITION_BOOK.")
@click.option("--as", "acting", metavar="PERSON", help="Who acts; also in RECONDITION_PERSON.")
@click.pass_context
def cli(ctx: click.Context, book: str | None, acting: str | None) -> None:
    """Keep the ledger of a collector car's preparation, from arrival to sale.

    Start with 'recondition demo', or with 'recondition import --blank FILE.xlsx' and a
    workbook of your own.
    """
    ctx.obj = {"book": book, "acting": acting}


def main() -> None:
    """Run the command line; every refusal ends in words and an exit status, never a traceback.

    0 done, 1 the data was refused, 2 the call was wrong, 3 damage was found.
    """
    try:
        cli.main(prog_name="recondition", standalone_mode=True)
    except Exception as error:  # noqa: BLE001 - the one place where errors become words
        sys.exit(tell(error))


def tell(error: Exception) -> int:
    """Say what was refused, where and what to do; give the exit status."""
    from recondition.errors import Refused, fault  # noqa: PLC0415 - only when something went wrong
    from recondition.intake.problems import ImportRefused  # noqa: PLC0415 - as above

    if os.environ.get("RECONDITION_TRACEBACK"):
        if not isinstance(error, Refused):
            raise error
    else:
        _let_go(error)
    if not isinstance(error, Refused):
        click.echo("\n  do: ".join(fault(error)), err=True)
        return 1
    if isinstance(error, ImportRefused):
        click.echo(f"Refused: {error.words()}", err=True)
        return error.exit_status
    click.echo(f"Refused: {error.what}", err=True)
    if error.where:
        click.echo(f"  where: {error.where}", err=True)
    if error.todo:
        click.echo(f"  do: {error.todo}", err=True)
    return error.exit_status


def _let_go(error: BaseException | None) -> None:
    """Drop what the failed work still holds, such as half a file on a full disk.

    What is said of that by the way would only stand between the user and the reason.
    """
    import logging  # noqa: PLC0415 - only when something went wrong
    from traceback import clear_frames  # noqa: PLC0415 - as above

    grumble, sys.unraisablehook = sys.unraisablehook, lambda _: None
    logging.disable()
    try:
        while error is not None:
            clear_frames(error.__traceback__)
            error = error.__cause__ or error.__context__
    finally:
        logging.disable(logging.NOTSET)
        sys.unraisablehook = grumble
