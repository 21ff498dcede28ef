"""The call-out language as a decoding graph: what Vosk searches, so that it hears phrases of the language or talk.

Vosk's own phrase list only leans towards phrases; a graph made of the language's automaton admits nothing else. Beside
the phrases lies *talk*, phones in any order, which a stretch may be instead of a call or before the lead word.
"""

from __future__ import annotations

from dataclasses import dataclass

from grammar import Automaton, arc_log_likelihoods
from logger.recognisers.call_phones import (
    SILENCE,
    SOUNDS,
    first_step,
    further_step,
    numbered,
    phone_of,
    placed,
    talk_phone,
)
from logger.recognisers.kaldi_graph import Graph
from logger.recognisers.pronunciations import Pronunciations
from logger.recognisers.vosk_engine import UNKNOWN_WORD

TALK_WORD = UNKNOWN_WORD
"""What a stretch of talk is called."""


@dataclass(frozen=True, slots=True)
class Costs:
    """Costs in natural log, chosen on TUNING voices by `make bench-recognition`'s --tune.

    Those of talk around readings were chosen on 20 minutes of TUNING talk with numbers (of 132 stretches 42 had been
    taken for calls, now 2) and on 48 TUNING calls at 5 dB that talk runs into (right in 32 before, in about 45 now). Talk itself
    costs less since call-model-2 (3.0 before), which had taken 5 more of 40 sounds of talk for calls; of 196 TUNING calls at
    10, 5 and 0 dB as many are heard, and as many right.

    Attributes:
        word_scale: how much the likelihood of words weighs against the sound.
        silence: each silence between words.
        talk_phone: each phone of a stretch that is talk.
        talk_phone_before: each phone of talk that runs into a call.
        readings_in_talk: readings without the lead word that talk runs into.
    """

    word_scale: float = 0.75
    silence: float = 0.25
    talk_phone: float = 2.75
    talk_phone_before: float = 3.0
    readings_in_talk: float = 5.0


def word_numbers(automaton: Automaton) -> dict[str, int]:
    """Return the number of each word of the graph, and of talk."""
    return {word: number for number, word in enumerate([*sorted(automaton.vocabulary), TALK_WORD], start=1)}


def call_graph(
    automaton: Automaton, ways: Pronunciations, lead: str = "", costs: Costs | None = None
) -> Graph:
    """Return the graph: Kaldi's transition-ids -> words.

    Args:
        automaton: the language.
        ways: how each of its words may be said.
        lead: the word before which talk may run into a call; empty for none.
        costs: what silence, words and talk cost.
    """
    costs = costs or Costs()
    made = Graph()
    numbers = word_numbers(automaton)
    reached = [made.state() for _ in automaton.arcs]
    ready = [_after_silence(made, state, costs.silence) for state in reached]
    made.arc(0, reached[0])
    words = _Words(made, ways, numbers)
    for state, (shares, stop) in enumerate(arc_log_likelihoods(automaton)):
        for word, target in automaton.arcs[state].items():
            words.add(ready[state], word, -shares[word] * costs.word_scale, reached[target])
        if stop is not None:
            made.finals[ready[state]] = -stop * costs.word_scale
    talk = _talk(made, costs.talk_phone, numbers[TALK_WORD])
    after_talk = _after_silence(made, talk, costs.silence)
    made.finals[after_talk] = 0.0
    if lead in automaton.arcs[0]:
        # Readings that talk runs into without the lead word are talk as well. Else a stretch full of numbers would fit
        # so well as a call that the lead word, which nobody said, would hardly count.
        made.arc(after_talk, reached[automaton.arcs[0][lead]], cost=costs.readings_in_talk)
        before = _after_silence(made, _talk(made, costs.talk_phone_before, 0), costs.silence)
        words.add(before, lead, 0.0, reached[automaton.arcs[0][lead]])
    return made


class _Words:
    """Words of the graph; those that lead to one state share their phones after the first."""

    def __init__(self, made: Graph, ways: Pronunciations, numbers: dict[str, int]) -> None:
        self._made, self._ways, self._numbers = made, numbered(ways), numbers
        self._rests: dict[tuple[str, int], list[tuple[int, int]]] = {}

    def add(self, source: int, word: str, cost: float, target: int) -> None:
        key = word, target
        if key not in self._rests:
            self._rests[key] = [self._rest(placed(way), target) for way in self._ways[word]]
        for phone, after in self._rests[key]:
            self._made.arc(source, after, first_step(phone), self._numbers[word], cost)

    def _rest(self, phones: list[int], target: int) -> tuple[int, int]:
        """Add a pronunciation but for the step into its first phone; return that phone and the state after it."""
        first = state = self._made.state()
        _hold(self._made, state, phones[0])
        for phone in phones[1:]:
            state = add_phone(self._made, state, phone)
        self._made.arc(state, target)
        return phones[0], first


def add_phone(made: Graph, source: int, phone: int, given: int = 0, cost: float = 0.0) -> int:
    """Add one phone after `source`; return the state it leads to."""
    target = made.state()
    made.arc(source, target, first_step(phone), given, cost)
    _hold(made, target, phone)
    return target


def _hold(made: Graph, state: int, phone: int) -> None:
    made.arc(state, state, further_step(phone))


def _after_silence(made: Graph, source: int, cost: float) -> int:
    """Add a silence that may be left out; return the state after it."""
    after = made.state()
    made.arc(source, after)
    made.arc(add_phone(made, source, phone_of(SILENCE), cost=cost), after)
    return after


def _talk(made: Graph, cost: float, given: int) -> int:
    """Add phones in any order, from the start of the graph, silences among them; return the state after them.

    With a word to give, the first of them is that word; the others belong to none.
    """
    ready = _after_silence(made, 0, 0.0)
    between = made.state()
    for sound in range(1, len(SOUNDS)):
        first = phone_of(sound, "singleton") if given else talk_phone(sound)
        made.arc(add_phone(made, ready, first, given, cost), between)
        made.arc(add_phone(made, between, talk_phone(sound), cost=cost), between)
    made.arc(add_phone(made, between, phone_of(SILENCE), cost=cost), between)
    return between
