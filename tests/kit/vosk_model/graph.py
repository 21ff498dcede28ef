"""The tiny model's decoding graphs."""

from __future__ import annotations

import math

from logger.recognisers.call_graph import add_phone
from logger.recognisers.call_phones import SILENCE, phone_of, placed
from logger.recognisers.kaldi_graph import Arc, Graph
from vosk_model.phones import Lexicon

SILENCE_COST = 0.7
SOUND_COST = 0.7
WORD_COST = 1.0
"""Natural log: what each silence, each new sound and each new word costs, against chopping long sounds up."""


def word_graph(lexicon: Lexicon, numbers: dict[str, int]) -> Graph:
    """Return transition-ids -> words: any words, silence before and after each if it wants to."""
    made = Graph()
    between, ready = 0, made.state()
    made.finals[ready] = 0.0
    made.arc(between, ready, cost=SILENCE_COST)
    made.arc(add_phone(made, between, phone_of(SILENCE), cost=SILENCE_COST), ready)
    for word, ways in lexicon.items():
        for way in ways:
            state = ready
            for index, phone in enumerate(placed(way)):
                given, cost = (numbers[word], WORD_COST) if index == 0 else (0, 0.0)
                state = add_phone(made, state, phone, given, cost + SOUND_COST)
            made.arc(state, between)
    return made


def loop_of_words(words: int) -> Graph:
    """Return words -> the same words, any number of them, all as likely; words are numbered from 1."""
    loops = [Arc(0, number, number, math.log(words), 0) for number in range(1, words + 1)]
    return Graph(loops, {0: 0.0})


def looped(lower: Graph, words: int) -> Graph:
    """Return `lower` composed with `loop_of_words`: that has one state, so only the costs of words change."""
    arcs = [
        Arc(arc.source, arc.taken, arc.given, arc.cost + (math.log(words) if arc.given else 0.0), arc.target)
        for arc in lower.arcs
    ]
    return Graph(arcs, dict(lower.finals), lower.states)
