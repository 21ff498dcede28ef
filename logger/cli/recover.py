"""`odovox recover`: a new drive of what is left of a damaged one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from logger.cli import options

if TYPE_CHECKING:
    from logger.wiring.choosing import Choice


@click.command(name="recover")
@click.argument("drive", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--out",
    required=True,
    metavar="NEW",
    type=click.Path(path_type=Path),
    help="Folder of the new drive, which must not be there yet.",
)
@options.recogniser
@options.model
@click.pass_context
def command(ctx: click.Context, *, drive: Path, out: Path, recogniser: Choice, model: Path | None) -> None:
    """Make a new drive of all that can still be read of DRIVE, whose database is damaged.

    DRIVE stays as it is. Every row that any page still holds is taken over, with all sound; calls whose answers are lost
    are heard again where their sound was kept, and the new drive is reconciled. Two lines tell what was recovered and what
    is lost.

    Exit code 1: something is lost, an entry is in doubt, or nothing was heard.

    \b
    Example:
        odovox recover my-drive --out my-drive-recovered
    """  # noqa: D301  (click reads the backspace)
    from logger.cli.talk import Teller, say, summary_text
    from logger.wiring.choosing import choose
    from logger.wiring.recovering import counted_text, lost_text, recover

    teller = Teller()
    try:
        done = recover(
            drive, out, choose=lambda language: choose(recogniser, model, language), listener=teller
        )
    finally:
        teller.clear()
    say(f"recovered {counted_text(done.counts) or 'nothing but when it began'}")
    say(lost_text(done.lost, done.astray, done.heard))
    say(summary_text(done.summary, str(out)))
    ctx.exit(1 if done.needs_human else 0)
