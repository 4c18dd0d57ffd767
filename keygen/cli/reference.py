"""Write or check the reference pages: `python -m keygen.cli.reference docs/reference [--check]`.

For contributors; the pages are generated from rules/ and compared in CI.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keygen.cli.guard import guarded, talk

FINDINGS = 1


@guarded
def reference(
    folder: Annotated[Path, typer.Argument(help="Where the pages go.")],
    check: Annotated[bool, typer.Option("--check", help="Compare only; write nothing.")] = False,
) -> None:
    """Write the reference pages made from the shipped rules, or compare them.

    Example: python -m keygen.cli.reference docs/reference --check
    """
    from keygen.prose.reference import pages
    from keygen.rulebase.load import shipped
    from keygen.specimens.files import write_whole

    stale = 0
    for name, text in pages(shipped()).items():
        path = folder / name
        if path.is_file() and path.read_text(encoding="utf-8") == text:
            continue
        stale += 1
        if check:
            talk(f"{path}: not what the rules say now; run without --check")
        else:
            write_whole(path, text, replace=True)
            talk(f"{path} written")
    if check and stale:
        raise typer.Exit(FINDINGS)


if __name__ == "__main__":
    app = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False, add_completion=False)
    app.command()(reference)
    app()
