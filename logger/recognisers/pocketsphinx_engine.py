"""PocketSphinx behind our protocol: an enforced finite-state grammar. The only file that imports it."""

from __future__ import annotations

from typing import Any

from grammar import Automaton
from logger.errors import RecogniserError
from logger.model import HeardWord, Hypothesis, Samples

_FRAME_NS = 10_000_000

EXTRA_PRONUNCIATIONS: dict[str, tuple[str, ...]] = {
    "crosswind": ("K R AO S W IH N D",),
    "tailwind": ("T EY L W IH N D",),
}
"""Words of the language that the dictionary of the wheel lacks (CMUdict phones)."""


class PocketSphinxRecogniser:
    """Hears only phrases of the language, with the English model its wheel carries.

    Raises:
        RecogniserError: a word of the language is in no dictionary, or the library cannot be used.
    """

    def __init__(self, automaton: Automaton) -> None:
        self._decoder = _decoder(automaton)

    @property
    def name(self) -> str:
        """Library, version and model."""
        from importlib.metadata import version

        return f"pocketsphinx {version('pocketsphinx')} en-us"

    def recognise(self, samples: Samples) -> tuple[Hypothesis, ...]:
        """Return the answers for one stretch, best first; none when no phrase fits."""
        # Its features otherwise begin with what is left of the last stretch, so answers would depend on the order.
        self._decoder.reinit_feat()
        self._decoder.start_utt()
        self._decoder.process_raw(samples.tobytes(), full_utt=True)
        self._decoder.end_utt()
        best = self._decoder.hyp()
        if best is None:
            return ()
        words = tuple(
            HeardWord(
                segment.word.split("(")[0], segment.start_frame * _FRAME_NS, (segment.end_frame + 1) * _FRAME_NS
            )
            for segment in self._decoder.seg()
            if segment.word[0] not in "<("
        )
        return (Hypothesis(0, words, 0.0),)


def _decoder(automaton: Automaton) -> Any:
    import pocketsphinx

    decoder = pocketsphinx.Decoder(
        pocketsphinx.Config(
            hmm=pocketsphinx.get_model_path("en-us/en-us"),
            dict=pocketsphinx.get_model_path("en-us/cmudict-en-us.dict"),
            lm=None,
            loglevel="FATAL",
            bestpath=False,
        )
    )
    for word, pronunciations in EXTRA_PRONUNCIATIONS.items():
        for pronunciation in pronunciations:
            if word in automaton.vocabulary and not decoder.lookup_word(word):
                decoder.add_word(word, pronunciation, False)
    missing = sorted(word for word in automaton.vocabulary if not decoder.lookup_word(word))
    if missing:
        raise RecogniserError(
            f"pocketsphinx does not know how these words sound: {', '.join(missing)}; use other words in the sheet"
        )
    end = len(automaton.arcs)
    graph = pocketsphinx.FsgModel("calls", decoder.get_logmath(), 1.0, end + 1)
    number = {word: graph.word_add(word) for word in sorted(automaton.vocabulary)}
    for state, arcs in enumerate(automaton.arcs):
        for word, target in arcs.items():
            graph.trans_add(state, target, 0, number[word])
        if state in automaton.finals:
            graph.null_trans_add(state, end, 0)
    graph.set_start_state(0)
    graph.set_final_state(end)
    decoder.add_fsg("calls", graph)
    decoder.activate_search("calls")
    return decoder
