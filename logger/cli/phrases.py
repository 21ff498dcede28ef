"""`odovox phrases`: what may be called out."""

from __future__ import annotations

from pathlib import Path

import click

from logger.cli.output import output_option, write_text


@click.command(name="phrases")
@click.option("--sheet", type=click.Path(path_type=Path), help="What is called out, as TOML.")
@click.option("--jsgf", is_flag=True, help="The whole language as a JSGF grammar.")
@click.option("--words", is_flag=True, help="The phrase list that a recogniser gets: every pair of words.")
@output_option
@click.pass_context
def command(
    ctx: click.Context,
    *,
    sheet: Path | None,
    jsgf: bool,
    words: bool,
    output: str,
) -> None:
    """Print the call-out card: what may be said, with an example of each.

    \b
    Example:
        odovox phrases --sheet my-car.toml
    """  # noqa: D301  (click reads the backspace)
    if jsgf and words:
        raise click.UsageError("choose --jsgf or --words", ctx)

    from grammar import Language, card
    from logger.wiring.sheets import load_sheet

    phrasebook = load_sheet(sheet).sheet.phrasebook
    if jsgf:
        text = Language(phrasebook).jsgf()
    elif words:
        text = "".join(f"{phrase}\n" for phrase in Language(phrasebook).phrase_list())
    else:
        text = card(phrasebook)
    write_text(output, text)
