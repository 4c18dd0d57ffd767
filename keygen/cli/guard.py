"""From errors to messages and exit codes: 0 fine, 1 findings, 2 bad input, 130 interrupted."""

from __future__ import annotations

import functools
import os
import sys
from collections.abc import Callable, Iterable
from typing import ParamSpec

import typer

from keygen.errors import KeygenError, Problem

BAD_INPUT = 2
INTERRUPTED = 130
LONGEST = 1600  # characters of a message: what is quoted from a file can be of any length
# The extra that brings each package which not every command needs.
EXTRAS = {
    **dict.fromkeys(("numpy", "scipy", "krippendorff"), "assemblage"),
    **dict.fromkeys(("xlsxwriter", "python_calamine"), "tables"),
    **dict.fromkeys(("dask", "pyarrow"), "distributed"),
}
Arguments = ParamSpec("Arguments")


def talk(text: str = "") -> None:
    """Say something to the person at the keyboard: on stderr, never among the results."""
    typer.echo(text, err=True)


def report(problems: Iterable[Problem]) -> None:
    """Print problems, one a line."""
    for problem in problems:
        text = str(problem)
        if len(text) > LONGEST:
            text = f"{text[: LONGEST // 2]} ... {text[-LONGEST // 2 :]}"
        talk(text)


def problem_of(error: OSError) -> Problem:
    """Return what the system refused, as a problem."""
    what = (error.strerror or str(error)).lower()
    return Problem(str(error.filename or ""), 0, 0, "", what)


def _missing(error: ModuleNotFoundError) -> Problem:
    """Return the extra that a command lacks, as a problem.

    Raises:
        ModuleNotFoundError: it is no extra's package, but a fault of the program.
    """
    package = str(error.name).partition(".")[0]
    if package not in EXTRAS:
        raise error
    what = f"this needs the package {package}, which is not installed"
    remedy = f"Install it with: pip install 'keygen[{EXTRAS[package]}]'"
    return Problem("", 0, 0, "K450", what, remedy)


def _to_its_end(
    command: Callable[Arguments, None], *args: Arguments.args, **kwargs: Arguments.kwargs
) -> None:
    """Run a command and bring out what it printed, with findings too, while faults can be told."""
    try:
        command(*args, **kwargs)
    except typer.Exit:
        sys.stdout.flush()
        raise
    sys.stdout.flush()


def _forget_output() -> None:
    """Lead what could not be printed to nowhere, or Python tries again at its end and complains."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def guarded(command: Callable[Arguments, None]) -> Callable[Arguments, None]:
    """Make a command end in a message and an exit code for whatever its input can cause."""

    @functools.wraps(command)
    def run(*args: Arguments.args, **kwargs: Arguments.kwargs) -> None:
        try:
            _to_its_end(command, *args, **kwargs)
        except KeygenError as error:
            report(error.problems)
            raise typer.Exit(BAD_INPUT) from None
        except KeyboardInterrupt:
            raise typer.Exit(INTERRUPTED) from None
        except ModuleNotFoundError as error:
            report([_missing(error)])
            raise typer.Exit(BAD_INPUT) from None
        except BrokenPipeError:  # the reader went away, as in `keygen types | head`
            _forget_output()
            raise typer.Exit(0) from None
        except OSError as error:
            report([problem_of(error)])
            try:
                sys.stdout.flush()
            except OSError:  # it was the output that found no room
                _forget_output()
            raise typer.Exit(BAD_INPUT) from None

    return run
