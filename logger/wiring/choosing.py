"""Which recogniser listens: the one named, or the best that is installed."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

from grammar import Language
from logger.errors import RecogniserError
from logger.ports import Recogniser

Choice = Literal["auto", "pocketsphinx", "vosk"]
CHOICES: tuple[Choice, ...] = get_args(Choice)


@dataclass(frozen=True, slots=True)
class Chosen:
    """A recogniser ready to listen, and one line on why it is this one."""

    recogniser: Recogniser
    why: str


def choose(choice: Choice, model: Path | None, language: Language) -> Chosen:
    """Open the recogniser asked for.

    `auto` is Vosk where a model is named or an English one is installed, else PocketSphinx, whose wheel carries a
    model. An installed model that turns out unusable makes `auto` fall back; a named one does not.

    Raises:
        RecogniserError: what was asked for cannot be used.
    """
    if choice == "pocketsphinx":
        if model is not None:
            raise RecogniserError("--model names a Vosk model; use it with --recogniser vosk or auto")
        return Chosen(_pocketsphinx(language), "asked for")
    found = _vosk_model(model, required=choice == "vosk")
    if found is None:
        return Chosen(_pocketsphinx(language), "no English Vosk model is installed")
    if choice == "vosk" or model is not None:
        return Chosen(_vosk(found, language), "asked for")
    try:
        return Chosen(_vosk(found, language), f"the model {found} is installed")
    except RecogniserError as error:
        return Chosen(_pocketsphinx(language), f"the installed Vosk model does not do: {error}")


def _vosk_model(model: Path | None, *, required: bool) -> Path | None:
    try:
        from logger.recognisers.vosk_models import find_model

        found = find_model(model)
    except (ImportError, OSError) as error:  # the library of the wheel does not load on this machine
        if required or model is not None:
            raise RecogniserError(
                f"Vosk cannot be loaded ({error}); use --recogniser pocketsphinx"
            ) from error
        return None
    if found is None and required:
        raise RecogniserError(
            "no English Vosk model is installed; name one with --model, or see `odovox model`"
        )
    return found


def _vosk(model: Path, language: Language) -> Recogniser:
    from logger.recognisers.vosk_engine import VoskRecogniser

    return VoskRecogniser(model, language.phrase_list(), language.vocabulary)


def _pocketsphinx(language: Language) -> Recogniser:
    from logger.recognisers.pocketsphinx_engine import PocketSphinxRecogniser

    return PocketSphinxRecogniser(language)
