"""`odovox report`: what a drive came to, for people or for programs, and its charts as files."""

from __future__ import annotations

import os
import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from logger.cli.output import output_option, refuse_on_terminal, write_bytes, write_text

if TYPE_CHECKING:
    from logger.wiring.reported import DriveReport

FORMATS = ("html", "md", "json")
_ENDINGS = {".html": "html", ".htm": "html", ".md": "md", ".json": "json"}


@click.command(name="report")
@click.argument("drive", type=click.Path(path_type=Path))
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="What to write: one HTML file that needs no network, Markdown, or JSON for programs. Not given: as FILE ends; "
    "else md on a terminal, html elsewhere.",
)
@click.option(
    "--units",
    type=click.Choice(("mi", "km")),
    help="Tell distances, speeds, heights and consumption in miles or kilometres; not given, as the drive's sheet does. JSON has "
    "kilometres and both.",
)
@click.option(
    "--charts",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Write each chart as a file into this folder too, which is made if need be.",
)
@click.option(
    "--chart-format",
    type=click.Choice(("svg", "png")),
    default="svg",
    show_default=True,
    help="What the files of --charts are.",
)
@output_option
@click.pass_context
def command(
    ctx: click.Context,
    *,
    drive: Path,
    form: str | None,
    units: Literal["mi", "km"] | None,
    charts: Path | None,
    chart_format: Literal["svg", "png"],
    output: str,
) -> None:
    """Write what DRIVE came to: range, efficiency, conditions, and how far to trust each figure.

    The drive is only read. What is in doubt is named on top and counts for nothing: settle it with `odovox review` first. docs/report.md
    says how to read a report.

    Exit code 1: something is in doubt; the report is written all the same.

    \b
    Example:
        odovox report my-drive -o report.html
        odovox report my-drive --units mi
        odovox report my-drive --format json -o report.json --charts charts --chart-format png
    """  # noqa: D301  (click reads the backspace)
    on_terminal = output == "-" and sys.stdout.isatty()
    if form is None:
        form = _ENDINGS.get(Path(output).suffix.lower(), "md" if on_terminal else "html")
    if on_terminal and form == "html":
        refuse_on_terminal(ctx, form)

    if charts is None and ctx.get_parameter_source("chart_format") is not click.core.ParameterSource.DEFAULT:
        raise click.UsageError("--chart-format goes with --charts FOLDER", ctx)

    from logger.cli.talk import say
    from logger.wiring.reported import DriveReport

    report = DriveReport(drive, units)
    pictures = {} if charts is None else _write_charts(report, charts, chart_format)
    if form == "html":
        text = report.html()
    elif form == "json":
        text = report.json()
    else:
        text = report.markdown({key: _as_seen(path, output) for key, path in pictures.items()})
    write_text(output, text)
    if report.needs_human:
        say(_doubts(report, drive))
    if output != "-":
        say(f"{output} is written")
    ctx.exit(1 if report.needs_human else 0)


def _write_charts(report: DriveReport, folder: Path, form: Literal["svg", "png"]) -> dict[str, Path]:
    """Write the charts; return where each is."""
    from logger.errors import ExportError

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ExportError(
            f"{folder}: cannot be made ({error.strerror or error}); choose another folder for the charts"
        ) from error
    written = {}
    for chart in report.chart_files(form):
        path = folder / f"{chart.key}.{form}"
        content = chart.content()
        write_bytes(str(path), lambda stream, content=content: stream.write(content))  # type: ignore[misc]
        written[chart.key] = path
    return written


def _as_seen(path: Path, output: str) -> str:
    """Return where a file is, as seen from the page that is written, for a link."""
    from urllib.parse import quote

    beside = Path.cwd() if output == "-" else Path(output).resolve().parent
    return quote(os.path.relpath(path.resolve(), beside).replace(os.sep, "/"))


def _doubts(report: DriveReport, drive: Path) -> str:
    """Return what a person has to do, in one line."""
    count = len(report.results.observed.doubts)
    if not count:
        return "something is not settled; the report says what"
    doubts = "1 entry is in doubt and counts" if count == 1 else f"{count} entries are in doubt and count"
    return f"{doubts} for nothing; settle with `odovox review {shlex.quote(str(drive))}`"
