"""`odovox review`: settle what is in doubt after the drive, in a browser or in the terminal."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from logger.cli import options

if TYPE_CHECKING:
    from logger.wiring.reviewing.drive import ReviewedDrive


@click.command(name="review")
@click.argument("drive", type=click.Path(path_type=Path))
@click.option("--terminal", is_flag=True, help="Walk through the doubts here, without a browser.")
@click.option("--no-browser", is_flag=True, help="Only print the page's address; open it yourself.")
@click.option("--no-sound", is_flag=True, help="With --terminal: play a call only when asked to.")
@options.who
@click.pass_context
def command(
    ctx: click.Context, *, drive: Path, terminal: bool, no_browser: bool, no_sound: bool, who: str
) -> None:
    """Settle what is in doubt in DRIVE: listen, look, and say what it was.

    Opens a page in the browser, served from this machine to this machine only; Ctrl-C ends it. Doubts come first, each
    with its sound, what it may be and why it is asked about. Every answer settles the whole drive anew, so that other
    doubts may vanish with it. Nothing is overwritten, and everything can be undone. docs/review.md tells more.

    Exit code 1: something is in doubt still.

    \b
    Example:
        odovox review my-drive
        odovox review my-drive --terminal
    """  # noqa: D301  (click reads the backspace)
    if terminal and no_browser:
        raise click.UsageError("--terminal opens no browser anyway", ctx)
    if no_sound and not terminal:
        raise click.UsageError("--no-sound goes with --terminal", ctx)
    from logger.wiring.reviewing.drive import ReviewedDrive

    reviewed = ReviewedDrive(drive, who)
    if terminal:
        _walk(ctx, reviewed, played_first=not no_sound)
    else:
        _serve(ctx, reviewed, browser=not no_browser)


def _walk(ctx: click.Context, reviewed: ReviewedDrive, *, played_first: bool) -> None:
    from logger.cli.talk import say
    from logger.cli.walk import Walk
    from logger.sound.portaudio import stderr_kept
    from logger.wiring.reviewing.playing import Player

    if (blocked := reviewed.blocked()) is not None:
        say(f"note: {blocked}")
    with stderr_kept(), Player() as player:
        view = Walk(reviewed, player, played_first=played_first).go()
    say(_left(len(view.doubts)))
    ctx.exit(1 if view.doubts else 0)


def _serve(ctx: click.Context, reviewed: ReviewedDrive, *, browser: bool) -> None:
    from logger.cli.output import write_text
    from logger.cli.talk import say
    from logger.web.serving import LocalServer
    from logger.wiring.reviewing.page import Page

    if (blocked := reviewed.blocked()) is not None:
        say(f"note: {blocked}")
    page = Page(reviewed)
    with LocalServer(page.reply, say) as server, _ended_by_signals():
        write_text("-", f"{server.address}\n")
        say(f"{_left(len(reviewed.look().doubts))}; the page is for this machine only, Ctrl-C ends it")
        if browser:
            click.launch(server.address)
        server.run()
    doubts = len(reviewed.look().doubts)
    say(_left(doubts))
    ctx.exit(1 if doubts else 0)


@contextmanager
def _ended_by_signals() -> Iterator[None]:
    """Let what ends a program end the serving as Ctrl-C does."""
    numbers = (signal.SIGTERM, signal.SIGHUP)
    before = [signal.signal(number, signal.default_int_handler) for number in numbers]
    try:
        yield
    except KeyboardInterrupt:
        pass  # while the browser was being opened
    finally:
        for number, handler in zip(numbers, before, strict=True):
            signal.signal(number, handler)


def _left(count: int) -> str:
    if not count:
        return "nothing is in doubt"
    return f"{count} {'entry is' if count == 1 else 'entries are'} in doubt"
