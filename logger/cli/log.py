"""`odovox log`: the log of a drive or of several, as data, as a table for people, or as a track."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Literal

import click

from logger.cli.output import output_option, refuse_on_terminal, write_bytes
from logger.cli.talk import LeftOut

FORMATS = ("csv", "jsonl", "parquet", "table", "gpx", "geojson")
_TRACKS = frozenset({"gpx", "geojson"})


@click.command(name="log")
@click.argument("drives", metavar="DRIVE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="What to write. Not given: table on a terminal, csv elsewhere and for several drives.",
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
    drives: tuple[Path, ...],
    form: str | None,
    wide: bool,
    units: Literal["mi", "km"] | None,
    everything: bool,
    output: str,
) -> None:
    """Write the log of DRIVE, or of several.

    A folder that holds drive folders stands for all of them. Several drives go into one stream whose first column tells
    the drive. As parquet they go into a folder, one data set with a part for each drive; so does one drive where FILE
    ends with a slash. Run again, it replaces the parts of these drives and leaves the others. gpx and geojson are the
    way driven, with the checkpoints on it. docs/formats.md says what each column means.

    Exit code 1: some of several drives could not be read; each is named.

    \b
    Example:
        odovox log my-drive --format csv --units km > log.csv
        odovox log my-drive --format gpx -o my-drive.gpx
        odovox log drives/ --format parquet -o logs/
    """  # noqa: D301  (click reads the backspace)
    from logger.wiring.log_table import Form
    from logger.wiring.several import drive_folders

    folders = drive_folders(drives)
    several = folders != drives or len(folders) > 1
    on_terminal = output == "-" and sys.stdout.isatty()
    if form is None:
        form = "table" if on_terminal and not several else "csv"
    data_set = form == "parquet" and (several or output.endswith("/"))
    _refuse_what_clashes(ctx, form, wide=wide, everything=everything, several=several)
    if wide and units is None and (several or data_set):
        raise click.UsageError(
            "--wide of several drives needs --units, so that all have the same columns", ctx
        )
    if data_set and output == "-":
        raise click.UsageError("several drives as parquet make a folder; name it with -o FOLDER", ctx)
    if form == "parquet" and on_terminal:
        refuse_on_terminal(ctx, form)

    left_out = LeftOut()
    shape = Form(wide, everything, units, shared=several or data_set)
    if form in _TRACKS:
        from logger.tracks import WRITERS
        from logger.wiring.charting import charts_of

        charts = charts_of(folders, left_out, distances=units)
        write_bytes(output, lambda stream: WRITERS[form](charts, stream))
    elif data_set:
        from logger.wiring.log_table import put_into_data_set

        put_into_data_set(folders, Path(output), shape, left_out)
    else:
        from logger.tables import write
        from logger.wiring.log_table import log_table, log_tables

        table = log_tables(folders, shape, left_out) if several else log_table(folders[0], shape)
        write_bytes(output, lambda stream: write(table, form, stream))
    ctx.exit(1 if left_out.any else 0)


def _refuse_what_clashes(
    ctx: click.Context, form: str, *, wide: bool, everything: bool, several: bool
) -> None:
    """Refuse options that do not go together.

    Raises:
        click.UsageError: some do not.
    """
    if form in _TRACKS and (wide or everything):
        raise click.UsageError(
            f"{form} has a point for each checkpoint; leave {'--wide' if wide else '--all'} out", ctx
        )
    if wide and everything:
        raise click.UsageError("--wide has no place for what --all adds; choose one of them", ctx)
    if several and form == "table":
        raise click.UsageError("table shows one drive; take csv for several", ctx)
