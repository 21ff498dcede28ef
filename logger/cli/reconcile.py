"""`odovox reconcile`: the log of a drive, made anew from what was heard."""

from __future__ import annotations

from pathlib import Path

import click


@click.command(name="reconcile")
@click.argument("drive", type=click.Path(path_type=Path))
@click.pass_context
def command(ctx: click.Context, drive: Path) -> None:
    """Make the entries of DRIVE anew from what was heard and decided.

    Nothing that was heard and no decision is changed; only what follows from them. Worth running after an update of
    odovox, or after another program wrote to the drive.

    Exit code 1: an entry is in doubt, nothing was heard, or something is odd about the sound.

    \b
    Example:
        odovox reconcile my-drive
    """  # noqa: D301  (click reads the backspace)
    from logger.cli.talk import say, summary_text
    from logger.wiring.reconciling import reconcile_drive

    summary, issues = reconcile_drive(drive)
    for issue in issues:
        say(f"note: {issue.message}")
    say(summary_text(summary, str(drive)))
    ctx.exit(1 if summary.needs_human else 0)
