"""`odovox amend`: one decision about one entry, for scripts and for who knows what was said."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from logger.cli import options

if TYPE_CHECKING:
    from logger.core.deciding import Answer


@click.command(name="amend")
@click.argument("drive", type=click.Path(path_type=Path))
@click.argument("entry")
@click.argument("value", required=False)
@click.option("--accept", "how", flag_value="accept", help="The entry is right as it is.")
@click.option("--reject", "how", flag_value="reject", help="Nothing of the kind was said.")
@click.option("--undo", "how", flag_value="undo", help="The newest decision about it counts no more.")
@click.option(
    "--note", "how", flag_value="note", help="VALUE is what the note says from now on, as it stands."
)
@click.option(
    "--choice",
    type=click.IntRange(min=1),
    metavar="NUMBER",
    help="Where VALUE may mean more than one thing: which of those that were listed.",
)
@click.option("--why", default="", metavar="TEXT", help="Why, kept with the decision.")
@options.who
@click.pass_context
def command(
    ctx: click.Context,
    *,
    drive: Path,
    entry: str,
    value: str | None,
    how: str | None,
    choice: int | None,
    why: str,
    who: str,
) -> None:
    """Decide about one ENTRY of DRIVE: its VALUE, or one of --accept, --reject and --undo.

    VALUE is typed in digits or words, with or without its unit: "105", "105 mi", "one oh five"; what is left out comes
    from the entry. Where it may mean more than one thing, nothing is changed and the meanings are listed. ENTRY is an id
    of `odovox log`, or a time of the drive such as @1:02:05 to add what was missed then. Every decision is kept with
    what the entry was; nothing is overwritten, and the whole drive is settled anew.

    Exit code 1: VALUE may mean more than one thing, or entries are in doubt still.

    \b
    Example:
        odovox amend my-drive 12-2 105 --why "heard it again"
        odovox amend my-drive 12-2 --undo
        odovox amend my-drive @1:02:05 "63 %"
    """  # noqa: D301  (click reads the backspace)
    from logger.cli.output import write_text
    from logger.cli.reviewed import outcome_lines
    from logger.cli.talk import say
    from logger.core.deciding import Choices
    from logger.wiring.reviewing.drive import ReviewedDrive

    answer = _answer(ctx, entry, value, how, None if choice is None else choice - 1)
    settled = ReviewedDrive(drive, who).answer(answer, why=why)
    if isinstance(settled, Choices):
        say(f"'{value}' may mean {len(settled.texts)} things; nothing was changed: say which with --choice")
        write_text("-", "".join(f"{number} {text}\n" for number, text in enumerate(settled.texts, 1)))
        ctx.exit(1)
    for line in outcome_lines(settled):
        say(line)
    ctx.exit(1 if settled.view.doubts else 0)


def _answer(ctx: click.Context, entry: str, value: str | None, how: str | None, choice: int | None) -> Answer:
    from logger.core.deciding import Accept, AddMissed, EditNote, Reject, Type, Undo

    if how in ("accept", "reject", "undo"):
        if value is not None:
            raise click.UsageError(f"--{how} takes no VALUE", ctx)
        if entry.startswith("@"):
            raise click.UsageError(f"--{how} needs the id of an entry", ctx)
        return Accept(entry) if how == "accept" else Reject(entry) if how == "reject" else Undo(entry)
    if value is None:
        raise click.UsageError("give a VALUE, or one of --accept, --reject and --undo", ctx)
    if how == "note":
        return EditNote(entry, value)
    if entry.startswith("@"):
        return AddMissed(_at_ns(ctx, entry[1:]), value, choice)
    return Type(entry, value, choice)


def _at_ns(ctx: click.Context, text: str) -> int:
    from logger.core.times import parse_elapsed_ns

    try:
        return parse_elapsed_ns(text)
    except ValueError as error:
        raise click.UsageError(f"@{text}: {error}", ctx) from error
