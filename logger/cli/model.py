"""`odovox model`: which recognisers and models there are."""

from __future__ import annotations

import click


@click.command(name="model")
@click.option("--fetch", "name", metavar="NAME", help="Let Vosk's own loader fetch the model NAME.")
def command(name: str | None) -> None:
    """Show which recognisers and models are installed, and which public Vosk model suits.

    \b
    Example:
        odovox model --fetch vosk-model-small-en-us-0.15
    """  # noqa: D301  (click reads the backspace)
    from logger.cli.output import write_text
    from logger.wiring import models

    if name is None:
        write_text("-", models.describe_recognisers())
    else:
        write_text("-", f"{models.fetch(name)}\n")
