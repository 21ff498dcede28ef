"""`odovox reconcile`: the log of a drive, made anew from what was heard, or from hearing it again; and why it is so."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from logger.cli.options import RECOGNISERS

if TYPE_CHECKING:
    from logger.wiring.choosing import Choice


@click.command(name="reconcile")
@click.argument("drive", type=click.Path(path_type=Path))
@click.option(
    "--recogniser",
    type=click.Choice(RECOGNISERS),
    help="Let it hear the kept sound of every call first, as far as it has not yet; its answers count from then on.",
)
@click.option(
    "--model",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Let another Vosk model hear it: its folder, or its name if it is installed.",
)
@click.option(
    "--explain",
    "entry_id",
    metavar="ENTRY",
    help="Only tell how this entry came about, by its id: what was heard, all it may be, what speaks for each, the "
    "rules.",
)
@click.option("--json", "as_json", is_flag=True, help="With --explain: one JSON object.")
@click.pass_context
def command(
    ctx: click.Context,
    *,
    drive: Path,
    recogniser: Choice | None,
    model: Path | None,
    entry_id: str | None,
    as_json: bool,
) -> None:
    """Make the entries of DRIVE anew from what was heard and decided.

    Nothing that was heard and no decision is changed; only what follows from them. Worth running after an update of
    odovox, or after another program wrote to the drive. With --recogniser or --model the kept sound is heard again
    first; stopped, the same command goes on. With --explain nothing is written at all.

    Exit code 1: an entry is in doubt, nothing was heard, something is odd about the sound, a clip could not be heard
    again, or a decision may be about another reading now.

    \b
    Example:
        odovox reconcile my-drive
        odovox reconcile my-drive --recogniser both
        odovox reconcile my-drive --explain 12-2
    """  # noqa: D301  (click reads the backspace)
    if as_json and entry_id is None:
        raise click.UsageError("--json goes with --explain ENTRY", ctx)
    if entry_id is not None:
        if recogniser is not None or model is not None:
            raise click.UsageError("--explain only reads; listen again first, without it", ctx)
        _explain(drive, entry_id, as_json=as_json)
    elif recogniser is not None or model is not None:
        _listen_again(ctx, drive, recogniser or "auto", model)
    else:
        _reconcile(ctx, drive)


def _reconcile(ctx: click.Context, drive: Path) -> None:
    from logger.cli.talk import say, summary_text
    from logger.wiring.reconciling import reconcile_drive

    summary, issues = reconcile_drive(drive)
    for issue in issues:
        say(f"note: {issue.message}")
    say(summary_text(summary, str(drive)))
    ctx.exit(1 if summary.needs_human else 0)


def _listen_again(ctx: click.Context, drive: Path, recogniser: Choice, model: Path | None) -> None:
    from logger.cli.talk import Teller, say, summary_text
    from logger.wiring.choosing import choose
    from logger.wiring.listening_again import listen_again

    teller = Teller()
    try:
        heard = listen_again(
            drive, choose=lambda language: choose(recogniser, model, language), listener=teller
        )
    finally:
        teller.clear()
    say(summary_text(heard.summary, str(drive)))
    ctx.exit(1 if heard.needs_human else 0)


def _explain(drive: Path, entry_id: str, *, as_json: bool) -> None:
    from logger.cli.explained import account_text
    from logger.cli.explained_json import account_json
    from logger.cli.output import write_text
    from logger.wiring.explaining import account_of

    account = account_of(drive, entry_id)
    write_text("-", account_json(account) + "\n" if as_json else account_text(account, str(drive)))
