"""PocketSphinx behind our protocol: an enforced finite-state grammar, and an n-best list from two passes.

The lattice of a whole call explodes (seconds to minutes for one call of several readings, however minimal the
graph), so the first pass makes none. It finds the best phrase and where each reading lies; the second pass decodes
each reading's sound alone, where a lattice costs little, and the lists of the readings are joined, best sums first.

A grammar finds a phrase in any talk, so what it finds is held against the same sound heard as phones in any order: talk
fits those much better than any phrase, a call about as well as its own.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator
from typing import Any, NamedTuple

from grammar import Automaton, Language, Reading
from logger.model import RATE_HZ, HeardWord, Hypothesis, Samples
from logger.recognisers.beside import Beside
from logger.recognisers.quiet_floor import with_floor
from logger.recognisers.sphinx_search import (
    ANY_SOUND,
    CALLS,
    OTHER_SOUND,
    add_search_for_any_sound,
    open_decoder,
    search_for,
)

_FRAME_NS = 10_000_000
_FRAME_SAMPLES = RATE_HZ // 100
_CONTEXT_FRAMES = 6
"""Sound given to the second pass on either side of a reading: a boundary lies inside a word now and then."""

_SHORTEST_SAMPLES = 1600
"""A tenth of a second, shorter than any word. The library refuses an empty buffer and is of no use afterwards."""

MOST_ANSWERS = 24
_MOST_PER_READING = 10
_MOST_PATHS = 150
"""Paths looked at in one lattice: many spell the same words with other pauses and pronunciations."""

_SCORE_SHIFT = 1024
"""The library's scores are scaled down by this before they reach us (`SENSCR_SHIFT` 10)."""
_SOUND_SCALE = 10.0
"""Frames are not independent, so sums of their log likelihoods are far too sure; chosen on tuning voices so that
exp(score) is near a probability."""

_OVERRULED = -0.7
"""The most that a reading's alternative may score. Where the passes differed on TUNING voices, the first, which hears the
whole call, was the one that was right; by how much it outweighs the second is judgement."""

_LEAST_FAVOUR = -1.0
"""Natural-log likelihood of a call's words over phones in any order, by frame, below which it is no call. On TUNING
voices calls lie near 1 and talk near -2, in quiet as in noise. What is lost here is mostly short commands."""


class _Word(NamedTuple):
    text: str
    first_frame: int
    end_frame: int
    log_likelihood: float
    """Of the sound alone."""


class _Option(NamedTuple):
    words: tuple[HeardWord, ...]
    score: float


class PocketSphinxRecogniser:
    """Hears only phrases of the language, with the English model its wheel carries, adapted to cabin noise.

    Args:
        language: what may be said.
        two_processes: a second process hears the phones meanwhile, for when somebody waits; for a process of its own only
            (see `Beside`).

    Raises:
        RecogniserError: a word of the language is in no dictionary, or the library cannot be used.
    """

    def __init__(self, language: Language, *, two_processes: bool = False) -> None:
        self._language = language
        self._phrases = open_decoder(whole_utterance_mean=True, lattice=False)
        search_for(self._phrases, language.automaton, lead=language.phrasebook.lead, after_talk=True)
        add_search_for_any_sound(self._phrases)
        self._readings = open_decoder(whole_utterance_mean=False, lattice=True)
        search_for(self._readings, language.reading_automaton)
        self._beside = Beside(self._any_sound) if two_processes else None

    @property
    def name(self) -> str:
        """Library, version and model."""
        from importlib.metadata import version

        return f"pocketsphinx {version('pocketsphinx')} en-us cabin-2"

    def recognise(self, samples: Samples) -> tuple[Hypothesis, ...]:
        """Return the answers for one stretch, best first; none when what is heard is no call."""
        if len(samples) < _SHORTEST_SAMPLES:
            return ()
        samples = with_floor(samples)
        if self._beside is not None:
            self._beside.begin(samples)
        words, mean = self._first_pass(samples)
        meanings = self._language.meanings([word.text for word in words])
        if not meanings or (self._beside is None and _is_talk(words, self._any_sound(samples))):
            return ()
        slots: list[list[_Option]] = []
        done = 0
        for part in meanings[0].parts:
            if isinstance(part, Reading):
                slots.append([_Option(_heard(words[done : part.first_word]), 0.0)])
                slots.append(self._second_pass(samples, words[part.first_word : part.end_word], mean))
                done = part.end_word
        slots.append([_Option(_heard(words[done:]), 0.0)])
        if self._beside is not None and _is_talk(words, self._beside.result()):
            return ()
        return tuple(
            Hypothesis(rank, answer, score) for rank, (answer, score) in enumerate(_best_sums(slots))
        )

    def _first_pass(self, samples: Samples) -> tuple[list[_Word], str]:
        """Return the words of the best phrase, and the cepstral mean of the sound."""
        self._phrases.activate_search(CALLS)
        _decode(self._phrases, samples)
        if self._phrases.hyp() is None:
            return [], ""
        words = [word for word in _segments(self._phrases) if word.text[0] not in f"<({OTHER_SOUND}"]
        return words, self._phrases.get_cmn(False)

    def _any_sound(self, samples: Samples) -> list[_Word]:
        """Return the sound as phones and silences in any order."""
        self._phrases.activate_search(ANY_SOUND)
        _decode(self._phrases, samples)
        return [] if self._phrases.hyp() is None else _segments(self._phrases)

    def _second_pass(self, samples: Samples, words: list[_Word], mean: str) -> list[_Option]:
        """Return what else the sound of one reading may be; what the first pass heard comes first."""
        first, end = words[0].first_frame, words[-1].end_frame
        begin = max(0, first - _CONTEXT_FRAMES) * _FRAME_SAMPLES
        piece = samples[begin : (end + _CONTEXT_FRAMES) * _FRAME_SAMPLES]
        _decode(self._readings, piece, mean)
        said = " ".join(word.text for word in words)
        scores = dict(_texts_of_lattice(self._readings, self._language.reading_automaton))
        best = max(scores.values(), default=0.0)
        return [_Option(_heard(words), 0.0)] + [
            _Option(_placed(text.split(), first, end), min(score - best, _OVERRULED))
            for text, score in scores.items()
            if text != said
        ]


def _decode(decoder: Any, samples: Samples, mean: str | None = None) -> None:
    """Decode a sound by itself, with a cepstral mean from outside where one is given."""
    # Features begin with what is left of the last stretch, so without this answers would depend on the order.
    decoder.reinit_feat()
    if mean is not None:
        decoder.set_cmn(mean)
    decoder.start_utt()
    decoder.process_raw(samples.tobytes(), full_utt=True)
    decoder.end_utt()


def _segments(decoder: Any) -> list[_Word]:
    return [
        _Word(
            segment.word if segment.word[0] == "(" else segment.word.partition("(")[0],
            segment.start_frame,
            segment.end_frame + 1,
            math.log(max(segment.ascore, 1e-300)) * _SCORE_SHIFT,
        )
        for segment in decoder.seg()
    ]


def _is_talk(words: list[_Word], any_sound: list[_Word]) -> bool:
    return _favour(words, any_sound) < _LEAST_FAVOUR


def _favour(words: list[_Word], any_sound: list[_Word]) -> float:
    """Return how much likelier the sound of words is by them than as phones in any order: natural log by frame."""
    frames = sum(word.end_frame - word.first_frame for word in words)
    as_words = sum(word.log_likelihood for word in words)
    as_sound = 0.0
    for sound in any_sound:
        by_frame = sound.log_likelihood / max(1, sound.end_frame - sound.first_frame)
        for word in words:
            shared = min(word.end_frame, sound.end_frame) - max(word.first_frame, sound.first_frame)
            as_sound += by_frame * max(0, shared)
    return (as_words - as_sound) / frames


def _texts_of_lattice(decoder: Any, automaton: Automaton) -> Iterator[tuple[str, float]]:
    """Yield each different phrase of the lattice with the score of its best path, best first.

    The library's lattice also holds paths that stop in the middle of a phrase ("four hundred and").
    """
    if decoder.hyp() is None:
        return
    seen: set[str] = set()
    for looked_at, path in enumerate(decoder.nbest()):
        if path is None or looked_at >= _MOST_PATHS or len(seen) >= _MOST_PER_READING:
            return
        text = " ".join(path.hypstr.split())
        if text not in seen and automaton.accepts(text.split()):
            seen.add(text)
            yield text, math.log(max(path.score, 1e-300)) * _SCORE_SHIFT / _SOUND_SCALE


def _heard(words: list[_Word]) -> tuple[HeardWord, ...]:
    return tuple(
        HeardWord(word.text, word.first_frame * _FRAME_NS, word.end_frame * _FRAME_NS) for word in words
    )


def _placed(texts: list[str], first_frame: int, end_frame: int) -> tuple[HeardWord, ...]:
    """Place the words of another answer: only where the first begins and the last ends is known."""
    last = len(texts) - 1
    return tuple(
        HeardWord(
            text,
            first_frame * _FRAME_NS if index == 0 else None,
            end_frame * _FRAME_NS if index == last else None,
        )
        for index, text in enumerate(texts)
    )


def _best_sums(slots: list[list[_Option]]) -> Iterator[tuple[tuple[HeardWord, ...], float]]:
    """Yield whole answers, one option from each slot, the highest sum of scores first."""
    ordered = [sorted(slot, key=lambda option: -option.score) for slot in slots]
    first = (0,) * len(ordered)

    def total(choice: tuple[int, ...]) -> float:
        return sum(slot[index].score for slot, index in zip(ordered, choice, strict=True))

    queue = [(-total(first), first)]
    seen = {first}
    for _ in range(MOST_ANSWERS):
        if not queue:
            return
        negative, choice = heapq.heappop(queue)
        answer = [word for slot, index in zip(ordered, choice, strict=True) for word in slot[index].words]
        yield tuple(answer), -negative
        for position, index in enumerate(choice):
            if index + 1 < len(ordered[position]):
                following = (*choice[:position], index + 1, *choice[position + 1 :])
                if following not in seen:
                    seen.add(following)
                    heapq.heappush(queue, (-total(following), following))
