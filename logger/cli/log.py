"""`odovox log`: the log of a drive, as data or as a table for people."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Literal

import click

from logger.cli.output import output_option, write_bytes

FORMATS = ("csv", "jsonl", "parquet", "table")


@click.command(name="log")
@click.argument("drive", type=click.Path(path_type=Path))
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="What to write. Not given: table on a terminal, csv elsewhere.",
)
@click.option("--wide", is_flag=True, help="One row per checkpoint, a column per quantity.")
@click.option(
    "--units",
    type=click.Choice(("mi", "km")),
    help="Show distances, speeds and efficiencies in miles or kilometres; not given, as said.",
)
@click.option(
    "--all", "everything", is_flag=True, help="Rejected entries too, and what each can be traced back to."
)
@output_option
@click.pass_context
def command(
    ctx: click.Context,
    *,
    drive: Path,
    form: str | None,
    wide: bool,
    units: Literal["mi", "km"] | None,
    everything: bool,
    output: str,
) -> None:
    """Write the log of DRIVE.

    docs/formats.md says what each column means.

    \b
    Example:
        odovox log my-drive --format csv --units km > log.csv
    """  # noqa: D301  (click reads the backspace)
    if wide and everything:
        raise click.UsageError("--wide has no place for what --all adds; choose one of them", ctx)
    on_terminal = output == "-" and sys.stdout.isatty()
    if form is None:
        form = "table" if on_terminal else "csv"

    from logger.tables import TEXT_FORMATS, write
    from logger.wiring.log_table import log_table

    if on_terminal and form not in TEXT_FORMATS:
        raise click.UsageError(f"{form} is not for a terminal; send it to a file with -o FILE", ctx)
    table = log_table(drive, wide=wide, everything=everything, distances=units)
    write_bytes(output, lambda stream: write(table, form, stream))
