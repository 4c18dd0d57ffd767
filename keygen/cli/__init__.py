"""The command line: thin commands, a file each.

A command's file is imported when the command is run, so that `keygen --help` costs no more than the
help itself; the table below says where each command lives and what its help begins with.
"""

from __future__ import annotations

import os
import sys
from enum import StrEnum
from importlib import import_module
from typing import TYPE_CHECKING, Annotated

import typer
from typer.core import TyperGroup
from typer.main import get_command

from keygen import __version__

if TYPE_CHECKING:
    from typer._click import Command, Context, HelpFormatter

# The function has the command's name; a test holds the words against its docstring.
COMMANDS = {
    "walk": "Walk the key with a piece in hand and write its record.",
    "describe": "Describe pieces from their records, or from observations given here.",
    "trace": "Show what a call rests on: each type considered, what is met, open and against.",
    "elsewhere": "List the types that the same piece would fit in every other region.",
    "table": "Describe and call every row of a table, and write tables or a report.",
    "agree": "Compare what several observers recorded of the same specimens.",
    "tabulate": "Count types, periods or states over levels, units or sites.",
    "key": "Print the key or draw it, key out one region's types, or make the page for a phone.",
    "types": "List the types, show one, or compare two.",
    "check": "Check that the key and the types are sound.",
    "rerun": "Judge records again, with these rules or others.",
    "demo": "Describe an invented survey, and write a small report, its records and tables.",
}


class Commands(TyperGroup):
    """The commands by name, each loaded when it is asked for."""

    def list_commands(self, ctx: Context) -> list[str]:
        """Return the names in the order of a day's work."""
        del ctx
        return list(COMMANDS)

    def get_command(self, ctx: Context, cmd_name: str) -> Command | None:
        """Return a command from its file."""
        del ctx
        if cmd_name not in COMMANDS:
            return None
        alone = typer.Typer(
            rich_markup_mode=None, pretty_exceptions_enable=False, add_completion=False
        )
        alone.command(cmd_name)(getattr(import_module(f"keygen.cli.{cmd_name}"), cmd_name))
        return get_command(alone)

    def resolve_command(
        self, ctx: Context, args: list[str]
    ) -> tuple[str | None, Command | None, list[str]]:
        """Find the command that was meant; an unknown one is answered with the nearest."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from keygen.errors import nearest

            ctx.fail(f"No such command {args[0]!r}. {nearest(args[0], COMMANDS)}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: Context, formatter: HelpFormatter) -> None:
        """Write the list of commands without loading them."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


app = typer.Typer(
    name="keygen",
    cls=Commands,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
)


class Shell(StrEnum):
    """A shell that can complete keygen's words."""

    BASH = "bash"
    ZSH = "zsh"
    FISH = "fish"
    POWERSHELL = "powershell"


def _completion(shell: Shell | None) -> None:
    if shell:
        from keygen.cli.shells import script

        typer.echo(script(shell.value), nl=False)
        raise typer.Exit


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"keygen {__version__}")
        raise typer.Exit


@app.callback()
def keygen(
    version: Annotated[
        bool, typer.Option("--version", is_eager=True, callback=_version, help="Show the version.")
    ] = False,
    completion: Annotated[
        Shell | None,
        typer.Option(
            "--show-completion",
            is_eager=True,
            callback=_completion,
            help="Print the shell code that completes commands, options and words by the Tab key.",
        ),
    ] = None,
) -> None:
    """Key out, describe and place chipped-stone points, with reasons and caveats.

    Results go to stdout, messages to stderr. Exit codes: 0 fine, 1 findings, 2 bad use or input,
    130 interrupted.

    `keygen COMMAND --help` ends with examples; their files are those that `keygen demo` writes.

    Completion by the Tab key: eval "$(keygen --show-completion bash)"
    """


def _open_what_is_closed() -> None:
    """Lead streams that the caller closed, as in `keygen demo >&-`, to where all is forgotten.

    Python has None in their place, and the next file that is opened would get their number.
    """
    for name in ("stdin", "stdout", "stderr"):
        if getattr(sys, name) is None:
            mode = "r" if name == "stdin" else "w"
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_RDWR), mode, encoding="utf-8"))


def main() -> None:
    """Run the command line; the entry point of the installed program."""
    _open_what_is_closed()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a character the screen lacks is no reason to stop
            stream.reconfigure(errors="backslashreplace")
    try:
        if "_KEYGEN_COMPLETE" in os.environ:  # a shell asks what could be typed next
            from keygen.cli.shells import prepare

            prepare()
        app(prog_name="keygen")
    except KeyboardInterrupt:
        sys.exit(130)
    except OSError as error:  # the screen or disk that the help was written to
        from keygen.cli.guard import BAD_INPUT, problem_of, report

        sys.stdout = None  # or Python writes to it once more at exit
        report([problem_of(error)])
        sys.exit(BAD_INPUT)
