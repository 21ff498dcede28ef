"""Decoders of the PocketSphinx library for our automata. Imports the library only when one is made."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from grammar import Automaton, arc_log_likelihoods
from logger.errors import RecogniserError, UnknownWordsError
from logger.recognisers.pronunciations import EXTRA_PRONUNCIATIONS, PHONES

DATA = Path(__file__).with_name("data")

OTHER_SOUND = "~"
"""What the words begin with that stand for sound outside the language: one phone each."""

CALLS = "calls"
ANY_SOUND = "any sound"
"""Names of a decoder's searches."""

_LIKELIHOOD_SCALE = 4.0
"""How much the likelihood of words weighs against the sound. First tried on a mix of voices that holds some of what are
now REPORT voices, then 2, 6 and 7 against 4 on TUNING voices."""

_TALK_PHONE_LOG = -24.0
"""Natural-log cost of each phone of talk that runs into a call without a pause. Nearer zero, words of the call are taken
for talk; further, talk for words. Taken over from an earlier search, where it was raised after losses on REPORT voices."""

_SOUND_PHONE_LOG = -10.0
"""Natural-log cost of each phone where a sound is heard as phones alone, to be held against a call."""


def open_decoder(*, whole_utterance_mean: bool, lattice: bool) -> Any:
    """Return a decoder with the English model of the wheel, adapted to cabin noise.

    With `whole_utterance_mean` the cepstral mean is taken from each sound itself, else it is set from outside
    (`set_cmn`), for pieces too short to have a mean of their own. `lattice` makes n-best lists possible.

    Raises:
        RecogniserError: the library or its model, or our adaptation of it, cannot be loaded.
    """
    import pocketsphinx

    features = DATA / ("mean_of_utterance.params" if whole_utterance_mean else "mean_from_outside.params")
    try:
        return pocketsphinx.Decoder(
            pocketsphinx.Config(
                hmm=pocketsphinx.get_model_path("en-us/en-us"),
                dict=pocketsphinx.get_model_path("en-us/cmudict-en-us.dict"),
                featparams=str(features),
                mean=str(DATA / "cabin.means"),
                var=str(DATA / "cabin.variances"),
                sendump=str(DATA / "cabin.sendump"),
                lm=None,
                lw=_LIKELIHOOD_SCALE,
                loglevel="FATAL",
                bestpath=lattice,
            )
        )
    except (RuntimeError, ValueError) as error:
        raise RecogniserError(
            f"pocketsphinx cannot load its model ({error}); install odovox again"
        ) from error


def search_for(decoder: Any, automaton: Automaton, *, lead: str = "", after_talk: bool = False) -> None:
    """Make a decoder hear only phrases of an automaton.

    With `after_talk` it may also hear other sound, as phones, before a phrase that begins with the lead word.

    Raises:
        UnknownWordsError: a word is in no dictionary.
    """
    import pocketsphinx

    _add_words(decoder, automaton)
    before, beside, end = (len(automaton.arcs) + extra for extra in range(3))
    graph = pocketsphinx.FsgModel(CALLS, decoder.get_logmath(), _LIKELIHOOD_SCALE, end + 1)
    number = {word: graph.word_add(word) for word in sorted(automaton.vocabulary)}
    for state, (shares, stop) in enumerate(arc_log_likelihoods(automaton)):
        for word, share in shares.items():
            target = automaton.arcs[state][word]
            graph.trans_add(state, target, _log(share * _LIKELIHOOD_SCALE), number[word])
        if stop is not None:
            graph.null_trans_add(state, end, _log(stop * _LIKELIHOOD_SCALE))
    if after_talk and lead in automaton.arcs[0]:
        for sound in _add_phones(decoder, graph):
            graph.trans_add(before, beside, _log(_TALK_PHONE_LOG), sound)
            graph.trans_add(beside, beside, _log(_TALK_PHONE_LOG), sound)
        graph.null_trans_add(before, 0, 0)
        graph.trans_add(beside, automaton.arcs[0][lead], 0, number[lead])
        graph.set_start_state(before)
    else:
        graph.set_start_state(0)
    graph.set_final_state(end)
    decoder.add_fsg(CALLS, graph)
    decoder.activate_search(CALLS)


def add_search_for_any_sound(decoder: Any) -> None:
    """Give a decoder a second search, `ANY_SOUND`, which hears phones in any order: what a call is held against."""
    import pocketsphinx

    graph = pocketsphinx.FsgModel(ANY_SOUND, decoder.get_logmath(), _LIKELIHOOD_SCALE, 3)
    for sound in _add_phones(decoder, graph):
        graph.trans_add(0, 1, _log(_SOUND_PHONE_LOG), sound)
        graph.trans_add(1, 1, _log(_SOUND_PHONE_LOG), sound)
    graph.null_trans_add(1, 2, 0)
    graph.set_start_state(0)
    graph.set_final_state(2)
    decoder.add_fsg(ANY_SOUND, graph)


def _log(natural: float) -> int:
    """Return a natural logarithm as the library keeps it: whole, to base 1.0001."""
    return round(natural / math.log(1.0001))


def _add_phones(decoder: Any, graph: Any) -> list[int]:
    for phone in PHONES:
        if not decoder.lookup_word(OTHER_SOUND + phone):
            decoder.add_word(OTHER_SOUND + phone, phone, False)
    return [graph.word_add(OTHER_SOUND + phone) for phone in PHONES]


def _add_words(decoder: Any, automaton: Automaton) -> None:
    for word, pronunciations in EXTRA_PRONUNCIATIONS.items():
        if word in automaton.vocabulary and not decoder.lookup_word(word):
            for pronunciation in pronunciations:
                decoder.add_word(word, pronunciation, False)
    missing = sorted(word for word in automaton.vocabulary if not decoder.lookup_word(word))
    if missing:
        raise UnknownWordsError(
            f"pocketsphinx does not know how to say {', '.join(missing)}; use other words in the sheet"
        )
