"""`keygen table`: a whole table described, in any of several formats at once."""

from __future__ import annotations

import signal
import sys
from collections.abc import Callable, Generator, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keygen.cli.describe import as_json
from keygen.cli.guard import guarded, report, talk
from keygen.cli.options import (
    Format,
    FormatOption,
    RegionOption,
    Register,
    RegisterOption,
    RulesOption,
    TemplatesOption,
)
from keygen.cli.put import say_left_over
from keygen.errors import KeygenError

if TYPE_CHECKING:
    from keygen.collection.findings import Findings
    from keygen.collection.model import Plan, Row, Table
    from keygen.collection.run import Targets
    from keygen.core.model import Rules

FINDINGS = 1
CAUTION = (
    "Caution: exact locations are in this output. They are not for the public where they could put "
    "a site at risk: ARPA section 9 (16 U.S.C. 470hh), NHPA section 304 (54 U.S.C. 307103)."
)
InArgument = Annotated[
    str,
    typer.Argument(
        metavar="[IN]", help="CSV or XLSX, a folder of specimen records, or - for standard input."
    ),
]
OutOption = Annotated[
    list[str] | None,
    typer.Option(
        "--out",
        help="File to write; the ending says the format: .csv .xlsx .jsonl .md .html .docx; "
        "- is CSV and -.jsonl JSON Lines on standard output. Can be repeated.",
    ),
]
MappingOption = Annotated[
    Path | None,
    typer.Option("--mapping", help="A file that says what the columns and codes of a house mean."),
]
SuggestOption = Annotated[
    bool, typer.Option("--suggest-mapping", help="Print a draft of such a file, and stop.")
]
SheetOption = Annotated[str, typer.Option("--sheet", help="The sheet of a workbook.")]
EncodingOption = Annotated[
    str, typer.Option("--encoding", help="The encoding of a CSV; detected if not given.")
]
CopyOption = Annotated[
    Path | None,
    typer.Option(
        "--copy-templates",
        help="Write the shipped templates to this folder, for you to change, and stop.",
    ),
]
JobsOption = Annotated[
    int, typer.Option("--jobs", min=1, help="How many processes share the work.")
]
RecordsOption = Annotated[
    Path | None, typer.Option("--records", help="Folder to write each row to as a record.")
]
ProblemsOption = Annotated[
    Path | None, typer.Option("--problems", help="CSV file to list every error and warning in.")
]
LocationsOption = Annotated[
    bool,
    typer.Option(
        "--include-locations",
        help="Keep columns of exact locations in the output; they are withheld otherwise.",
    ),
]
PicturesOption = Annotated[
    bool,
    typer.Option(
        "--pictures/--no-pictures", help="Put an outline beside each description in a report."
    ),
]
ForceOption = Annotated[bool, typer.Option("--force", help="Replace files that are there.")]


@guarded
def table(
    source: InArgument = "",
    outs: OutOption = None,
    mapping: MappingOption = None,
    suggest_mapping: SuggestOption = False,
    region: RegionOption = "",
    register: RegisterOption = Register.REPORT,
    sheet: SheetOption = "",
    encoding: EncodingOption = "",
    templates: TemplatesOption = None,
    copy_to: CopyOption = None,
    jobs: JobsOption = 1,
    records: RecordsOption = None,
    problems: ProblemsOption = None,
    include_locations: LocationsOption = False,
    pictures: PicturesOption = True,
    force: ForceOption = False,
    output: FormatOption = Format.TEXT,
    rules_folder: RulesOption = None,
) -> None:
    """Describe and call every row of a table, and write tables or a report.

    Each row is done for itself: what could not be read in one is reported, and the rest of it and
    the other rows are done. Exit code 1 if a row has an error.

    Example: keygen table keygen-demo/finds.csv -r carolina_piedmont --out c.csv

    Example: keygen table keygen-demo --out report.docx --out report.html
    """
    from keygen.cli.gather import known_region, rules_from
    from keygen.collection.run import Targets, check, run
    from keygen.collection.sources import open_table
    from keygen.collection.work import Order

    if copy_to:
        from keygen.collection.house import copy_templates

        talk(f"{copy_templates(copy_to)} templates written to {copy_to}")
        return
    if not source:
        raise KeygenError(
            "Give a table: CSV or XLSX, a folder of records, or - for standard input."
        )
    targets = Targets(tuple(outs or ()), records, problems, force)
    if targets.stdout and output is Format.JSON:
        raise KeygenError("--out - and --format json both want standard output; leave out one.")
    read = (None if source == "-" else Path(source), mapping)
    check(targets, [path for path in read if path])
    say_left_over([*targets.files, *((records,) if records else ())])
    if templates:
        from keygen.collection.house import unknown_templates

        report(unknown_templates(templates))
    rules = rules_from(rules_folder)
    found = open_table(source, rules, sheet, encoding)
    with _closed(found.rows):
        if suggest_mapping:
            from keygen.collection.suggest import suggest

            typer.echo(suggest(rules, found.header, found.rows), nl=False)
            return
        plan = _plan(rules, found, mapping, known_region(rules, region))
        _say_what_is_withheld(plan, include_locations)
        order = Order(targets.forms, register.value, templates, include_locations, pictures)
        stdout = typer.get_binary_stream("stdout")
        with _ended_cleanly(), _progress(source) as advance:
            findings = run(plan, order, targets, found.rows, stdout, jobs, talk, advance)
    _tell(findings, targets, output)
    if findings.sums.errors:
        raise typer.Exit(FINDINGS)


def _plan(rules: Rules, found: Table, mapping: Path | None, region: str) -> Plan:
    """Return how the table is read, and say what was decided about it."""
    from keygen.collection import columns
    from keygen.collection.mapping import load

    for remark in found.remarks:  # which sheet was read is wanted most where it was the wrong one
        talk(remark)
    house = load(rules, mapping) if mapping else None
    plan, remarks = columns.plan(rules, found.header, house, region, found.sheets)
    for remark in remarks:
        talk(remark)
    return plan


def _say_what_is_withheld(plan: Plan, included: bool) -> None:
    names = [column.name for column in plan.columns if column.kind == "location"]
    if names and included:
        talk(CAUTION)
    elif names:
        talk(f"Left out, as exact locations: {', '.join(names)} (--include-locations keeps them)")


@contextmanager
def _closed(rows: Iterator[Row]) -> Iterator[None]:
    """Close the file that rows come from, however the work ends."""
    try:
        yield
    finally:
        if isinstance(rows, Generator):
            rows.close()


@contextmanager
def _ended_cleanly() -> Iterator[None]:
    """Let a request to end the program clear up as Ctrl-C does, so that no half file stays."""

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


@contextmanager
def _progress(source: str) -> Iterator[Callable[[Row], None]]:
    """Show how far the work has come, if somebody is at the terminal."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    lines = 0
    if source != "-" and Path(source).suffix.lower() != ".xlsx" and Path(source).is_file():
        with Path(source).open("rb") as file:
            lines = sum(block.count(b"\n") for block in iter(lambda: file.read(1 << 20), b""))
    endless = iter(int, 1)  # the bar is moved by hand; where the end is not known it only counts
    with typer.progressbar(endless, lines or None, file=sys.stderr, show_pos=True) as bar:

        def advance(row: Row) -> None:
            bar.update((row.line if lines else row.number) - bar.pos)

        yield advance


def _tell(findings: Findings, targets: Targets, output: Format) -> None:
    """Print the problems, the names of what was written, and the summary."""
    if findings.sums.statuses["no region"]:
        talk("Rows that name no region get no call; --region names one for them.")
    for line in findings.problem_lines(str(targets.problems or "")):
        talk(line)
    for name in (*targets.files, *((targets.records,) if targets.records else ())):
        talk(f"{name} written")
    if output is Format.JSON:
        typer.echo(as_json(findings.to_data()), nl=False)
    else:
        typer.echo("\n".join(findings.summary_lines()), err=targets.stdout)
