"""Options that several commands have, each told once."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from logger.receivers.gpsd import GpsdAddress

RECOGNISERS = ("auto", "both", "pocketsphinx", "vosk")


def finite(ctx: click.Context, option: click.Parameter, value: float) -> float:
    """Refuse "nan", which click's ranges let through."""
    if value != value:  # noqa: PLR0124  (only "not a number" differs from itself)
        raise click.BadParameter("is not a number", ctx, option)
    return value


def address_of(text: str, ctx: click.Context) -> GpsdAddress:
    """Return the address of gpsd that was given.

    Raises:
        click.UsageError: it is none.
    """
    from logger.receivers.gpsd import parse_address

    try:
        return parse_address(text)
    except ValueError as error:
        raise click.UsageError(f"--gpsd: {error}", ctx) from error


def user_name() -> str:
    """Return the name that this person has on this machine."""
    import getpass

    try:
        return getpass.getuser()
    except (KeyError, OSError):  # a user without a name
        return "somebody"


recogniser = click.option(
    "--recogniser",
    type=click.Choice(RECOGNISERS),
    default="auto",
    show_default=True,
    help="Who listens: Vosk with our own call model, PocketSphinx, or both joined, which auto takes.",
)
model = click.option(
    "--model",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Another Vosk model: its folder, or its name if it is installed.",
)
microphone = click.option("--microphone", metavar="NAME", help="The microphone's name or a part of it.")
gpsd = click.option(
    "--gpsd", metavar="HOST:PORT", default="localhost:2947", show_default=True, help="Where gpsd listens."
)
kept_sheet = click.option(
    "--sheet", type=click.Path(path_type=Path), help="What is called out, as TOML; kept with the drive."
)
who = click.option(
    "--who",
    default=user_name,
    metavar="NAME",
    help="Whom decisions name; not given, your user name.",
)
