"""`odovox say`: what typed words mean."""

from __future__ import annotations

import sys
from pathlib import Path

import click


@click.command(name="say")
@click.argument("words", nargs=-1, required=True)
@click.option("--sheet", type=click.Path(path_type=Path), help="What is called out, as TOML.")
@click.pass_context
def command(ctx: click.Context, words: tuple[str, ...], sheet: Path | None) -> None:
    """Print what WORDS mean when they are called out, as JSON lines.

    One line per reading: quantity, value, unit; a command or note has a line of its own. Words with more than one
    meaning give all of them, numbered by "meaning". Nothing, and exit code 1, when they mean nothing. WORDS - reads
    phrases from standard input, one a line.

    \b
    Example:
        odovox say checkpoint sixty three percent
    """  # noqa: D301  (click reads the backspace)
    from grammar import Language
    from logger.cli.output import write_text
    from logger.wiring.saying import meaning_lines
    from logger.wiring.sheets import load_sheet

    language = Language(load_sheet(sheet).sheet.phrasebook)
    phrases = sys.stdin if words == ("-",) else (" ".join(words),)
    understood = True
    for phrase in phrases:
        lines = meaning_lines(language, phrase)
        understood = understood and bool(lines)
        write_text("-", "".join(f"{line}\n" for line in lines))
    ctx.exit(0 if understood else 1)
