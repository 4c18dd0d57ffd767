"""The command line: thin commands, a file each; what is heavy is imported inside them."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from keygen import __version__
from keygen.cli import check, demo, describe, elsewhere, trace, types, walk
from keygen.cli.guard import INTERRUPTED

app = typer.Typer(
    name="keygen",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
)
app.command("walk")(walk.walk)
app.command("describe")(describe.describe)
app.command("trace")(trace.trace)
app.command("elsewhere")(elsewhere.elsewhere)
app.command("types")(types.types)
app.command("check")(check.check)
app.command("demo")(demo.demo)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"keygen {__version__}")
        raise typer.Exit


@app.callback()
def keygen(
    version: Annotated[
        bool, typer.Option("--version", is_eager=True, callback=_version, help="Show the version.")
    ] = False,
) -> None:
    """Key out, describe and place chipped-stone points, with reasons and caveats.

    Results go to stdout, talk to stderr. Exit codes: 0 fine, 1 findings, 2 bad use or input, 130
    interrupted.
    """


def main() -> None:
    """Run the command line; the entry point of the installed program."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(
            stream, "reconfigure"
        ):  # a character the screen cannot show is no reason to stop
            stream.reconfigure(errors="backslashreplace")
    try:
        app(prog_name="keygen")
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
