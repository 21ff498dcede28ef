"""`odovox ingest`: sound and a track become a drive."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from logger.cli import options

if TYPE_CHECKING:
    from logger.wiring.choosing import Choice


@click.command(name="ingest")
@click.argument("audio", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--track",
    "tracks",
    multiple=True,
    type=click.Path(path_type=Path),
    help="GPX 1.1, NMEA 0183 or CSV file of positions; may be given more than once.",
)
@click.option(
    "--started",
    multiple=True,
    metavar="RFC3339",
    help="When AUDIO began, such as 2031-05-03T09:00:00Z. Given once, further AUDIO follows on directly; else once "
    "for each. Not given, the sound is taken to begin with the track.",
)
@click.option(
    "-o",
    "--out",
    required=True,
    metavar="DRIVE",
    type=click.Path(path_type=Path),
    help="Folder of the drive, made if it is not there.",
)
@options.kept_sheet
@options.recogniser
@options.model
@click.pass_context
def command(
    ctx: click.Context,
    *,
    audio: tuple[Path, ...],
    tracks: tuple[Path, ...],
    started: tuple[str, ...],
    out: Path,
    sheet: Path | None,
    recogniser: Choice,
    model: Path | None,
) -> None:
    """Take recorded sound and a GPS track into a drive folder.

    AUDIO is WAV, FLAC or Ogg of any rate, mono or stereo. Every call heard in it is kept with its sound, placed in
    time and on the track, and the whole drive is reconciled. Run twice it doubles nothing; stopped, it
    goes on when run again; with more AUDIO or another track it adds them.

    Exit code 1: an entry is in doubt, nothing was heard, or something is odd about the sound.

    \b
    Example:
        odovox ingest drive.flac --track drive.gpx --started 2031-05-03T09:00:00Z --out my-drive
    """  # noqa: D301  (click reads the backspace)
    if not audio and not tracks:
        raise click.UsageError("nothing to take in: name AUDIO, or a track for a drive that is there", ctx)
    if len(started) > 1 and len(started) != len(audio):
        raise click.UsageError(
            f"--started is given {len(started)} times for {len(audio)} AUDIO; give it once, or once for each",
            ctx,
        )
    if started and not audio:
        raise click.UsageError("--started says when AUDIO began; name the AUDIO", ctx)
    started_utc_ns = tuple(_instant(text, ctx) for text in started)

    from logger.cli.talk import Teller, say, summary_text
    from logger.wiring.choosing import choose
    from logger.wiring.ingest import ingest

    teller = Teller()
    try:
        summary = ingest(
            out,
            audio,
            tracks,
            started_utc_ns=started_utc_ns,
            sheet_path=sheet,
            choose=lambda language: choose(recogniser, model, language),
            listener=teller,
        )
    finally:
        teller.clear()
    say(summary_text(summary, str(out)))
    ctx.exit(1 if summary.needs_human else 0)


def _instant(text: str, ctx: click.Context) -> int:
    from logger.core.utc import parse_utc_ns

    try:
        instant = parse_utc_ns(text)
    except ValueError as error:
        raise click.UsageError(f"--started: {error}", ctx) from error
    if abs(instant) >= 2**62:  # what a drive can hold, as for the dates of a track
        raise click.UsageError(f"--started: {text} lies before 1823 or after 2116", ctx)
    return instant
