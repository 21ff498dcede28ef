"""`odovox compare`: many drives beside each other, and what makes them not comparable."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Literal

import click

from logger.cli.output import output_option, refuse_on_terminal, write_bytes, write_text
from logger.cli.talk import LeftOut

FORMATS = ("table", "csv", "json", "html", "parquet")


@click.command(name="compare")
@click.argument("drives", metavar="DRIVE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="What to write. Not given: html for a FILE that ends so, table on a terminal, csv elsewhere.",
)
@click.option(
    "--units",
    type=click.Choice(("mi", "km")),
    help="Miles or kilometres; not given, what most of the dashes count in.",
)
@click.option("--anew", is_flag=True, help="Work all out again, whatever is kept beside the drives.")
@output_option
@click.pass_context
def command(
    ctx: click.Context,
    *,
    drives: tuple[Path, ...],
    form: str | None,
    units: Literal["mi", "km"] | None,
    anew: bool,
    output: str,
) -> None:
    """Compare drives: a row each with the main results, and what makes it not comparable with the others.

    A folder that holds drive folders stands for all of them. Each drive is held against the median of the others:
    temperature, wind, speed, tyres, start charge, usable energy, what distances are by; and by itself: a loop that did not end
    where it began, doubts that nobody settled, charging on the way. docs/compare.md has the bounds and where they come from.
    The html is one file that opens without a network. What was worked out is kept beside each drive and used while nothing has changed.

    Exit code 1: some of several drives could not be read; each is named.

    \b
    Example:
        odovox compare drives/
        odovox compare monday tuesday --units mi --format csv > both.csv
        odovox compare drives/ -o drives.html
    """  # noqa: D301  (click reads the backspace)
    on_terminal = output == "-" and sys.stdout.isatty()
    if form is None:
        form = "html" if output.endswith((".html", ".htm")) else "table" if on_terminal else "csv"
    if form == "parquet" and on_terminal:
        refuse_on_terminal(ctx, form)

    from logger.core.comparing.whole import usual_distances
    from logger.wiring.comparing.gathering import compare
    from logger.wiring.comparing.writing import as_html, as_json, as_text, write_table
    from logger.wiring.several import drive_folders

    left_out = LeftOut()
    beside = compare(drive_folders(drives), left_out, kept=not anew)
    distances = units or usual_distances(beside)
    if form in {"csv", "parquet"}:
        write_bytes(output, lambda stream: write_table(beside, distances, form, stream))
    else:
        make = {"table": as_text, "json": as_json, "html": as_html}[form]
        write_text(output, make(beside, distances))
    ctx.exit(1 if left_out.any else 0)
