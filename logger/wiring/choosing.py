"""Which recogniser listens: the one named, or what measured best."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Literal, get_args

from grammar import Language
from logger.core.calibration import POCKETSPHINX_WEIGHT
from logger.errors import RecogniserError
from logger.model import Hypothesis, Samples
from logger.ports import Recogniser

Answers = tuple[Hypothesis, ...]
Choice = Literal["auto", "both", "pocketsphinx", "vosk"]
CHOICES: tuple[Choice, ...] = get_args(Choice)
One = Literal["pocketsphinx", "vosk"]
Opener = Callable[[One, Path | None], Recogniser]
"""Opens one recogniser, with a model where one is named."""

UNHEARD = 8.0
"""What an answer that one of two recognisers lacks costs; see `Together`. Of 3, 5 and 8 it has the least log loss on TUNING."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """A recogniser ready to listen, and one line on why it is this one.

    Attributes:
        recogniser: the one to believe.
        why: one line.
        quicker: one that answers sooner and nearly as well, for when somebody waits; the same where there is none.
        confirmed: gives what `recogniser` says of a stretch of which `quicker` has given the answers already.
    """

    recogniser: Recogniser
    why: str
    quicker: Recogniser
    confirmed: Callable[[Samples, Answers], Answers]


def choose(choice: Choice, model: Path | None, language: Language) -> Chosen:
    """Open the recogniser asked for in this process; see `choose_from`."""
    return choose_from(choice, model, partial(open_one, language=language))


def choose_from(choice: Choice, model: Path | None, opened: Opener) -> Chosen:
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
        return alone(opened("vosk", model), "asked for")
    if choice in ("vosk", "pocketsphinx"):
        return alone(opened(choice, None), "asked for")
    if choice == "both":
        return _both(opened, "asked for")
    try:
        return _both(opened, "together they measured best")
    except RecogniserError as error:
        return _what_works(opened, error)


def open_one(one: One, model: Path | None, language: Language, *, two_processes: bool = False) -> Recogniser:
    """Open PocketSphinx, or Vosk with the model named, else with the call model.

    With `two_processes` PocketSphinx answers sooner; see there.

    Raises:
        RecogniserError: it cannot be used.
    """
    if one == "pocketsphinx":
        from logger.recognisers.pocketsphinx_engine import PocketSphinxRecogniser

        return PocketSphinxRecogniser(language, two_processes=two_processes)
    try:
        if model is None:
            from logger.recognisers.call_model import CallModelRecogniser

            return CallModelRecogniser(language)
        from logger.recognisers.vosk_engine import VoskRecogniser
        from logger.recognisers.vosk_models import find_model

        return VoskRecogniser(find_model(model), language.phrase_list(), language.vocabulary)
    except (ImportError, OSError) as error:  # the library of the wheel does not load on this machine
        raise RecogniserError(f"Vosk cannot be loaded ({error}); use --recogniser pocketsphinx") from error


def alone(recogniser: Recogniser, why: str) -> Chosen:
    """Return a recogniser chosen with no quicker one beside it."""
    return Chosen(recogniser, why, recogniser, lambda _samples, answers: answers)


def _what_works(opened: Opener, error: RecogniserError) -> Chosen:
    """Return PocketSphinx alone, or Vosk alone, when the two together do not do."""
    why = f"the two together do not do: {error}"
    try:
        return alone(opened("pocketsphinx", None), why)
    except RecogniserError:
        return alone(opened("vosk", None), why)


def _both(opened: Opener, why: str) -> Chosen:
    from logger.recognisers.together import Together

    call_model = opened("vosk", None)
    together = Together(call_model, opened("pocketsphinx", None), POCKETSPHINX_WEIGHT, UNHEARD)
    return Chosen(together, why, call_model, together.confirmed)
