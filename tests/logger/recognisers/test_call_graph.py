"""The graph that Vosk searches: it takes the language's phrases as phones, talk, and nothing else."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grammar import Language, Phrasebook
from logger.recognisers.call_graph import TALK_WORD, call_graph, word_numbers
from logger.recognisers.call_phones import SILENCE, first_step, numbered, phone_of, placed, talk_phone
from logger.recognisers.kaldi_graph import Graph
from logger.recognisers.pronunciations import pronunciations

LANGUAGE = Language(Phrasebook())
AUTOMATON = LANGUAGE.automaton
WAYS = pronunciations(AUTOMATON.vocabulary)
SOUNDED = numbered(WAYS)
NUMBERS = word_numbers(AUTOMATON)
NAMES = {number: word for word, number in NUMBERS.items()}


class Walk:
    """Follows phones through a graph, without regard to cost."""

    def __init__(self, graph: Graph) -> None:
        self._finals = graph.finals
        self._leaving: dict[int, list[tuple[int, int, int]]] = {}
        for arc in graph.arcs:
            self._leaving.setdefault(arc.source, []).append((arc.taken, arc.given, arc.target))

    def texts(self, phones: list[int]) -> set[str]:
        """Return every text the graph gives for these phones, one step each."""
        here: set[tuple[int, tuple[int, ...]]] = self._rest({(0, ())})
        for phone in phones:
            step = first_step(phone)
            here = self._rest(
                {
                    (target, words + ((word,) if word else ()))
                    for state, words in here
                    for taken, word, target in self._leaving.get(state, [])
                    if taken == step
                }
            )
        return {" ".join(NAMES[n] for n in words) for state, words in here if state in self._finals}

    def _rest(self, here: set[tuple[int, tuple[int, ...]]]) -> set[tuple[int, tuple[int, ...]]]:
        todo = list(here)
        while todo:
            state, words = todo.pop()
            for taken, word, target in self._leaving.get(state, []):
                following = (target, words + ((word,) if word else ()))
                if taken == 0 and following not in here:
                    here.add(following)
                    todo.append(following)
        return here


WALK = Walk(call_graph(AUTOMATON, WAYS, LANGUAGE.phrasebook.lead))
QUIET = phone_of(SILENCE)


def spoken(text: str, *, pauses: bool = False) -> list[int]:
    """Return the phones of a text, each word the first way it may be said."""
    phones: list[int] = [QUIET] if pauses else []
    for word in text.split():
        phones += placed(SOUNDED[word][0])
        phones += [QUIET] if pauses else []
    return phones


@pytest.mark.parametrize("pauses", [False, True])
@pytest.mark.parametrize(
    "text",
    [
        "checkpoint sixty three percent",
        "checkpoint sixty three percent one oh four point two miles",
        "correction fifty five percent",
        "strike that",
        "note headwind",
    ],
)
def test_phrases_are_taken(text: str, *, pauses: bool) -> None:
    """A phrase's phones give its words, with silence around and between them or without."""
    assert text in WALK.texts(spoken(text, pauses=pauses))


@given(st.lists(st.sampled_from(sorted(AUTOMATON.vocabulary)), min_size=1, max_size=5))
def test_nothing_but_phrases_is_taken(words: list[str]) -> None:
    """Whatever words are said, each text the graph gives is a phrase of the language by its automaton, or talk.

    A word of one phone ("a") sounds as talk does.
    """
    texts = WALK.texts(spoken(" ".join(words))) - {TALK_WORD}

    assert all(AUTOMATON.accepts(text.split()) for text in texts)
    if AUTOMATON.accepts(words):
        assert " ".join(words) in texts


def test_talk_is_a_word_of_its_own() -> None:
    """Phones in any order are talk: the first one begins it, and only the first is a word."""
    talk = [phone_of(7, "singleton"), talk_phone(3), talk_phone(30), QUIET, talk_phone(1)]

    assert {TALK_WORD} == WALK.texts(talk)


def test_talk_may_run_into_a_call_but_only_before_the_lead_word() -> None:
    """What is said before the lead word gives no word; before a command it cannot be."""
    talk = [talk_phone(3), talk_phone(30)]

    assert {"checkpoint sixty percent"} == WALK.texts([*talk, *spoken("checkpoint sixty percent")])
    assert set() == WALK.texts([*talk, *spoken("strike that")])


def test_talk_may_run_into_readings_without_the_lead_word_and_is_talk_then() -> None:
    """Numbers in talk are no call, but they are heard as what they are, and need not pass for the lead word."""
    talk = [phone_of(7, "singleton"), talk_phone(30)]

    assert f"{TALK_WORD} sixty percent" in WALK.texts([*talk, *spoken("sixty percent")])
    assert set() == WALK.texts(spoken("sixty percent")) - {TALK_WORD}


def test_a_language_without_a_lead_word_has_no_talk_before_it() -> None:
    """In open mode a number after talk is no call, and a call by itself is."""
    language = Language(Phrasebook(lead="", notes=()))
    walk = Walk(call_graph(language.automaton, pronunciations(language.automaton.vocabulary), ""))

    numbers = walk.texts(spoken("sixty percent"))
    assert 1 == len(numbers)
    assert set() == walk.texts([talk_phone(3), *spoken("sixty percent")])


def test_every_phone_can_be_held() -> None:
    """Each state that a phone leads into holds it with the same phone's further steps."""
    graph = call_graph(AUTOMATON, WAYS, LANGUAGE.phrasebook.lead)
    held = {arc.target: arc.taken for arc in graph.arcs if arc.source == arc.target}
    entered = {(arc.target, arc.taken) for arc in graph.arcs if arc.taken and arc.source != arc.target}

    assert entered
    assert all(held[target] == step - 1 for target, step in entered)
