"""A tiny Vosk model made on the machine: real enough to recognise calls, small enough to build in a test run.

`tiny_model` trains one from synthetic speech and caches it; `random_model` writes one that loads and decodes
but knows nothing, for tests of loading and of errors; `sounds` speaks test sentences in voices the training
never heard. Needs kaldi-native-fbank, soxr and numpy, the dictionary inside the pocketsphinx wheel,
and the Debian packages espeak-ng and flite.
"""

from __future__ import annotations

from vosk_model.build import random_model, tiny_model
from vosk_model.phrases import DRIVE_WORDS, sentences, word_pairs
from vosk_model.sounds import HELD_OUT_VOICES, TRAINING_VOICES, Voice, speak

__all__ = [
    "DRIVE_WORDS",
    "HELD_OUT_VOICES",
    "TRAINING_VOICES",
    "Voice",
    "random_model",
    "sentences",
    "speak",
    "tiny_model",
    "word_pairs",
]
