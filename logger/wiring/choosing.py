"""Which recogniser listens: the one named, or what measured best."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

from grammar import Language
from logger.core.calibration import POCKETSPHINX_WEIGHT
from logger.errors import RecogniserError
from logger.ports import Recogniser

Choice = Literal["auto", "both", "pocketsphinx", "vosk"]
CHOICES: tuple[Choice, ...] = get_args(Choice)

UNHEARD = 8.0
"""What an answer that one of two recognisers lacks costs; see `Together`. Of 3, 5 and 8 it has the least log loss on TUNING."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """A recogniser ready to listen, and one line on why it is this one."""

    recogniser: Recogniser
    why: str


def choose(choice: Choice, model: Path | None, language: Language) -> Chosen:
    """Open the recogniser asked for.

    `vosk` is Vosk with the model named, else with the call model that odovox carries. `both` is the call model with
    PocketSphinx, which measured best on synthetic voices (docs/call-model.md). `auto` is Vosk where a model is named, else `both`,
    else what of the two can be used.

    Raises:
        RecogniserError: what was asked for cannot be used.
    """
    if model is not None:
        if choice not in ("auto", "vosk"):
            raise RecogniserError("--model names a Vosk model; use it with --recogniser vosk or auto")
        return Chosen(_vosk(model, language), "asked for")
    if choice == "vosk":
        return Chosen(_call_model(language), "asked for")
    if choice == "pocketsphinx":
        return Chosen(_pocketsphinx(language), "asked for")
    if choice == "both":
        return Chosen(_both(language), "asked for")
    try:
        return Chosen(_both(language), "together they measured best")
    except RecogniserError as error:
        return _what_works(language, error)


def _what_works(language: Language, error: RecogniserError) -> Chosen:
    """Return PocketSphinx alone, or Vosk alone, when the two together do not do."""
    why = f"the two together do not do: {error}"
    try:
        return Chosen(_pocketsphinx(language), why)
    except RecogniserError:
        return Chosen(_call_model(language), why)


def _both(language: Language) -> Recogniser:
    from logger.recognisers.together import Together

    return Together(_call_model(language), _pocketsphinx(language), POCKETSPHINX_WEIGHT, UNHEARD)


def _call_model(language: Language) -> Recogniser:
    try:
        from logger.recognisers.call_model import CallModelRecogniser

        return CallModelRecogniser(language)
    except (ImportError, OSError) as error:  # the library of the wheel does not load on this machine
        raise _not_loaded(error) from error


def _vosk(model: Path, language: Language) -> Recogniser:
    try:
        from logger.recognisers.vosk_engine import VoskRecogniser
        from logger.recognisers.vosk_models import find_model

        return VoskRecogniser(find_model(model), language.phrase_list(), language.vocabulary)
    except (ImportError, OSError) as error:
        raise _not_loaded(error) from error


def _not_loaded(error: Exception) -> RecogniserError:
    return RecogniserError(f"Vosk cannot be loaded ({error}); use --recogniser pocketsphinx")


def _pocketsphinx(language: Language) -> Recogniser:
    from logger.recognisers.pocketsphinx_engine import PocketSphinxRecogniser

    return PocketSphinxRecogniser(language)
