"""Speaking something into cabin noise, and hearing it with both recognisers apart. One of each is kept a process."""

from __future__ import annotations

import functools
from decimal import Decimal
from typing import Any, NamedTuple

import numpy as np
from speechkit import Samples
from speechkit.calls import Said, System
from speechkit.levels import Measure
from speechkit.noise import in_cabin
from speechkit.speaking import say
from speechkit.voices import Voice

from grammar import Language
from logger.core.calibration import POCKETSPHINX_WEIGHT
from logger.core.fusing import Ear, fused, heard_the_same
from logger.core.sheet import parse_sheet
from logger.model import RATE_HZ, HeardWord, Hypothesis
from logger.ports import Recogniser
from logger.wiring.choosing import UNHEARD, choose
from rehearsed.records import Answers

SHEETS: dict[System, str] = {"miles": "", "metric": 'units = "metric"'}
GROUPS = ("tuning", "report")
PARTS = ("main", "bank", "trial")
RATIOS_DB = (20.0, 10.0, 5.0, 0.0)
HARDER_DB = -5.0
"""For choosing settings only: what a REPORT voice meets at 0 dB meets TUNING voices, which are clearer, at this."""
_AROUND_S = 0.5
_SCORE_PLACES = 3


class Heard(NamedTuple):
    """What both made of one sound, and how long its speech is."""

    length_s: float
    vosk: Answers
    sphinx: Answers


def noise_seed(group: str, part: str, ratio_db: float, number: int) -> int:
    """Return the seed of the noise under what is said `number`-th in a set: no two sets, ratios or calls share one."""
    own = GROUPS.index(group) * len(PARTS) + PARTS.index(part)
    if ratio_db == HARDER_DB:
        place = len(GROUPS) * len(PARTS) * len(RATIOS_DB) + own
    else:
        place = own * len(RATIOS_DB) + RATIOS_DB.index(ratio_db)
    return 1_000_000_000 + place * 10_000_000 + number


def hear(script: str, voice: Voice, system: System, ratio_db: float, seed: int) -> Heard:
    """Speak a script into noise and return what each recogniser hears."""
    samples, length_s = sound(script, voice, ratio_db, seed)
    call_model, sphinx = ears(system)
    return Heard(length_s, _kept(call_model.recognise(samples)), _kept(sphinx.recognise(samples)))


def sound(script: str, voice: Voice, ratio_db: float, seed: int) -> tuple[Samples, float]:
    """Return a script spoken in cabin noise, half a second of noise around it, and the length of the speech."""
    speech = say(voice, script)
    edges = round(2 * _AROUND_S * RATE_HZ)
    # A few milliseconds more behind it spare the mixing Fourier transforms of awkward lengths.
    more = _quick_length(len(speech) + edges) - edges - len(speech)
    padded = np.concatenate((speech, np.zeros(more, dtype=np.int16)))
    return in_cabin(padded, ratio_db, seed, measure=Measure.BROADBAND, around_s=_AROUND_S), len(
        speech
    ) / RATE_HZ


@functools.cache
def language(system: System) -> Language:
    """Return the language of a sheet in those units."""
    return Language(parse_sheet(SHEETS[system]).phrasebook)


@functools.cache
def ears(system: System) -> tuple[Recogniser, Recogniser]:
    """Return the call model and PocketSphinx, opened once a process."""
    words = language(system)
    return choose("vosk", None, words).recogniser, choose("pocketsphinx", None, words).recogniser


def joined(vosk: Answers, sphinx: Answers) -> tuple[Hypothesis, ...]:
    """Return both lists joined as `--recogniser both` joins them; none when they heard no call, or not the same."""
    ears = as_hypotheses(vosk), as_hypotheses(sphinx)
    if not heard_the_same(*ears):
        return ()
    return fused((Ear(ears[0], 1.0, UNHEARD), Ear(ears[1], POCKETSPHINX_WEIGHT, UNHEARD)))


def as_hypotheses(kept: Answers) -> tuple[Hypothesis, ...]:
    """Return a kept list as a recogniser gave it, without the times of words."""
    return tuple(
        Hypothesis(rank, tuple(HeardWord(word) for word in text.split()), score)
        for rank, (text, score) in enumerate(kept)
    )


def first_answer(heard: Heard, truth: tuple[Said, ...], kind: str, system: System) -> tuple[bool, bool]:
    """Return whether the first of the joined answers means what was said, and whether any does.

    A command is its words: `truth` is empty then.
    """
    said = tuple((each.quantity, Decimal(each.value), each.unit) for each in truth)
    right = []
    for answer in joined(heard.vosk, heard.sphinx):
        words = [word.text for word in answer.words]
        meanings = language(system).meanings(words)
        if not truth:
            right.append(answer.text.endswith(kind))
        elif meanings:
            readings = [
                tuple((r.quantity, r.value, r.unit) for r in meaning.readings) for meaning in meanings
            ]
            right.append(said in readings and ("correction" in words) == (kind == "correction"))
    return bool(right) and right[0], any(right)


def in_open_words(samples: Samples) -> str:
    """Return PocketSphinx's one answer with the model and the whole vocabulary of its wheel, "" for none."""
    decoder = _open_decoder()
    decoder.reinit_feat()
    decoder.start_utt()
    decoder.process_raw(samples.tobytes(), full_utt=True)
    decoder.end_utt()
    best = decoder.hyp()
    return "" if best is None else str(best.hypstr)


@functools.cache
def _open_decoder() -> Any:
    import pocketsphinx

    return pocketsphinx.Decoder(
        pocketsphinx.Config(
            hmm=pocketsphinx.get_model_path("en-us/en-us"),
            dict=pocketsphinx.get_model_path("en-us/cmudict-en-us.dict"),
            lm=pocketsphinx.get_model_path("en-us/en-us.lm.bin"),
            loglevel="FATAL",
        )
    )


def _kept(answers: tuple[Hypothesis, ...]) -> Answers:
    return tuple((answer.text, round(answer.score or 0.0, _SCORE_PLACES)) for answer in answers)


def _quick_length(least: int) -> int:
    """Return the least length from `least` on that is a product of 2, 3, 5 and 7."""
    length = least
    while True:
        rest = length
        for factor in (2, 3, 5, 7):
            while rest % factor == 0:
                rest //= factor
        if rest == 1:
            return length
        length += 1
