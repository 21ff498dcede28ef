"""`odovox record`: a live drive."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from logger.cli import options

if TYPE_CHECKING:
    from logger.wiring.choosing import Choice
    from logger.wiring.recording.asked import Keep, Readback


@click.command(name="record")
@click.option(
    "-o",
    "--out",
    required=True,
    metavar="DRIVE",
    type=click.Path(path_type=Path),
    help="Folder of the drive, made if it is not there; a drive that is there is gone on with.",
)
@options.kept_sheet
@options.microphone
@options.gpsd
@click.option(
    "--receiver-delay",
    type=click.FloatRange(0.0, 2.0),
    metavar="SECONDS",
    default=0.0,
    callback=options.finite,
    show_default=True,
    help="How long after its instant a position arrives, as far as that is known of the receiver.",
)
@click.option(
    "--readback",
    type=click.Choice(("tone", "voice", "off")),
    default="tone",
    show_default=True,
    help="How it is told what became of a call.",
)
@options.recogniser
@options.model
@click.option(
    "--keep",
    type=click.Choice(("all", "calls")),
    default="all",
    show_default=True,
    help="Keep all sound, or only that of calls and of what follows a note.",
)
@click.pass_context
def command(
    ctx: click.Context,
    *,
    out: Path,
    sheet: Path | None,
    microphone: str | None,
    gpsd: str,
    receiver_delay: float,
    readback: Readback,
    recogniser: Choice,
    model: Path | None,
    keep: Keep,
) -> None:
    """Record a drive: listen all the while, take the calls, and read each back.

    Start it while parked, and forget it. Every call is on the disk before it is read back, and with it all sound up to
    a second before. Ctrl-C ends the drive: what is being said is taken, and the whole drive is settled. The same command
    again goes on with the drive, also after a crash. With a loop or the way out and back on the sheet it tells once,
    unasked, when by its figures it is time to turn round. docs/live.md tells more.

    Exit code 1: an entry is in doubt, or nothing was heard.

    \b
    Example:
        odovox record --out my-drive
        odovox record --out my-drive --sheet sheet.toml --microphone USB --readback voice
    """  # noqa: D301  (click reads the backspace)
    from logger.wiring.recording.asked import Asked

    address = options.address_of(gpsd, ctx)
    asked = Asked(out, sheet, microphone, address, receiver_delay, recogniser, model, readback, keep)

    from logger.cli.recording import CAUTIONS, RecordTeller, stopping
    from logger.cli.talk import summary_text
    from logger.sound.portaudio import stderr_kept
    from logger.wiring.recording.whole import record

    with stderr_kept():
        teller = RecordTeller()
        for caution in CAUTIONS:
            teller.remark(caution)
        try:
            with stopping() as stop:
                summary = record(asked, teller, stop)
        finally:
            teller.close()
        teller.remark(summary_text(summary, str(out)))
    ctx.exit(1 if summary.needs_human else 0)
