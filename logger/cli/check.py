"""`odovox check`: is all fit for a drive?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from logger.cli import options

if TYPE_CHECKING:
    from logger.core.fitness.findings import Finding
    from logger.wiring.checking.asked import Asked, Readback
    from logger.wiring.choosing import Choice


@click.command(name="check")
@click.option("--sheet", type=click.Path(path_type=Path), help="What is called out, as TOML.")
@options.microphone
@options.gpsd
@click.option(
    "-o",
    "--out",
    metavar="DRIVE",
    type=click.Path(path_type=Path),
    default=Path(),
    help="Folder that the drive is to be kept in; it is not made yet. The current folder, if not given.",
)
@click.option(
    "--hours",
    type=click.FloatRange(0.0, 48.0, min_open=True),
    default=6.0,
    callback=options.finite,
    show_default=True,
    help="How long the drive may last.",
)
@options.recogniser
@options.model
@click.option(
    "--readback",
    type=click.Choice(("tone", "voice", "off")),
    default="tone",
    show_default=True,
    help="What is played to see whether it can be heard.",
)
@click.option(
    "--seconds",
    type=click.FloatRange(1.0, 60.0),
    default=5.0,
    callback=options.finite,
    show_default=True,
    help="How long the microphone is listened to.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object; docs/live.md has its members.")
@click.pass_context
def command(
    ctx: click.Context,
    *,
    sheet: Path | None,
    microphone: str | None,
    gpsd: str,
    out: Path,
    hours: float,
    recogniser: Choice,
    model: Path | None,
    readback: Readback,
    seconds: float,
    as_json: bool,
) -> None:
    """Check microphone, read-back, recogniser, GPS and disk before a drive, while parked.

    One line for each: ok, warning (one can drive, and it may cost something), failed (part of the drive would be lost)
    or untried (for want of something that failed), with what to do. It takes about 15 s. Say a call while the meter
    runs, and see what is heard. Nothing is kept.

    Exit code 1: something failed, so not all is fit for a drive. Warnings alone end with 0.

    \b
    Example:
        odovox check --out my-drive
        odovox check --microphone USB --gpsd localhost:2947 --hours 5 --readback voice
    """  # noqa: D301  (click reads the backspace)
    from grammar import Language
    from logger.wiring.checking.asked import Asked
    from logger.wiring.sheets import load_sheet

    address = options.address_of(gpsd, ctx)
    language = Language(load_sheet(sheet).sheet.phrasebook)
    findings = _findings(
        Asked(language, microphone, address, out, hours, recogniser, model, readback, seconds),
        as_json=as_json,
    )
    from logger.core.fitness.findings import is_fit

    ctx.exit(0 if is_fit(findings) else 1)


def _findings(asked: Asked, *, as_json: bool) -> list[Finding]:
    """Run the checks and tell what they find: each at once in a line, or all at the end as JSON."""
    from logger.cli.checked import CAUTION, CheckTeller, finding_line, findings_json, verdict_text
    from logger.cli.output import write_text
    from logger.cli.talk import say
    from logger.sound.portaudio import stderr_kept
    from logger.wiring.checking.whole import check_all

    findings: list[Finding] = []
    with stderr_kept():
        say(CAUTION)
        teller = CheckTeller()
        try:
            for finding in check_all(asked, teller):
                findings.append(finding)
                teller.clear()
                if not as_json:
                    write_text("-", finding_line(finding) + "\n")
        finally:
            teller.clear()
        if as_json:
            write_text("-", findings_json(findings) + "\n")
        say(verdict_text(findings))
    return findings
