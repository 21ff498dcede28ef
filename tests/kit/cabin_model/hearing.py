"""What the library itself makes of sound: which senone each frame belongs to, and the cepstra it computes."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
import pocketsphinx

from cabin_model.model_files import CEPSTRA, Floats
from logger.model import Samples
from logger.recognisers.pronunciations import EXTRA_PRONUNCIATIONS

HMM = Path(pocketsphinx.get_model_path("en-us/en-us"))


class Stay(NamedTuple):
    """A state of a phone and the frames spent in it."""

    phone: str
    senone: int
    first_frame: int
    frames: int


def _decoder(**settings: object) -> pocketsphinx.Decoder:
    dictionary = pocketsphinx.get_model_path("en-us/cmudict-en-us.dict")
    config = pocketsphinx.Config(
        hmm=str(HMM), dict=dictionary, lm=None, loglevel="FATAL", bestpath=False, **settings
    )
    decoder = pocketsphinx.Decoder(config)
    for word, pronunciations in EXTRA_PRONUNCIATIONS.items():
        if not decoder.lookup_word(word):
            decoder.add_word(word, pronunciations[0], False)
    return decoder


class Aligner:
    """Finds where each state of each phone lies, when the words are known."""

    def __init__(self) -> None:
        self._decoder = _decoder()

    def align(self, samples: Samples, words: str) -> tuple[Stay, ...]:
        """Return the states in order; empty when the words don't fit the sound."""
        self._decoder.set_align_text(words)
        self._decode(samples)
        if self._decoder.hyp() is None:
            return ()
        self._decoder.set_alignment()
        self._decode(samples)
        return tuple(
            Stay(phone.name, int(state.name), state.start, state.duration)
            for word in self._decoder.get_alignment()
            for phone in word
            for state in phone
        )

    def _decode(self, samples: Samples) -> None:
        self._decoder.start_utt()
        self._decoder.process_raw(samples.tobytes(), full_utt=True)
        self._decoder.end_utt()


class Features:
    """The library's own cepstra, read from the log it can write."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._decoder = _decoder(mfclogdir=str(folder))
        self._decoder.set_align_text("one")

    def of(self, samples: Samples) -> Floats:
        """Return features, shape (frames, 3, 13): cepstra less their mean, their slope and its slope."""
        self._decoder.start_utt()
        self._decoder.process_raw(samples.tobytes(), no_search=True, full_utt=True)
        self._decoder.end_utt()
        (path,) = self._folder.glob("*.mfc")
        cepstra = np.frombuffer(path.read_bytes(), ">f4", offset=4).reshape(-1, CEPSTRA).astype(np.float64)
        path.unlink()
        return with_slopes(cepstra - cepstra.mean(axis=0))


def with_slopes(cepstra: Floats) -> Floats:
    """Return cepstra, shape (frames, 13), with slope over 4 frames and slope of slope: `1s_c_d_dd`."""
    count = len(cepstra)
    padded = np.vstack([cepstra[:1]] * 3 + [cepstra] + [cepstra[-1:]] * 3)
    slope = padded[5 : 5 + count] - padded[1 : 1 + count]
    ahead = padded[6 : 6 + count] - padded[2 : 2 + count]
    behind = padded[4 : 4 + count] - padded[:count]
    return np.stack([cepstra, slope, ahead - behind], axis=1)
