"""Trains the network: speak, label, train, label better, train again."""

from __future__ import annotations

import random
from collections.abc import Collection
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from vosk_model.alignment import best_path, from_durations
from vosk_model.features import cepstra
from vosk_model.network import Network, train
from vosk_model.phones import OTHER_TALK, SILENCE, SOUNDS, lexicon
from vosk_model.phrases import other_talk, sentences, word_lists
from vosk_model.sounds import TRAINING_VOICES, Voice, speak_timed, with_noise

CALLS, WORD_LISTS, OTHERS = 400, 200, 60
"""How many of each kind are spoken for the training."""
SLOPES = (0.0, 0.4, 0.7, 1.0)
Labels = NDArray[np.int64]
Features = NDArray[np.float32]


def _corpus(vocabulary: Collection[str]) -> list[tuple[str, Voice]]:
    """Return what is said by whom; tempo, pitch and warp are drawn anew for each."""
    rng = random.Random(7)
    texts = sentences(CALLS, 11, vocabulary) + word_lists(WORD_LISTS, 8, 12, vocabulary)
    texts += other_talk(OTHERS, 13, vocabulary)
    rng.shuffle(texts)
    spoken: list[tuple[str, Voice]] = []
    for index, text in enumerate(texts):
        voice = TRAINING_VOICES[index % len(TRAINING_VOICES)]
        warp = rng.uniform(0.86, 1.16) if voice.engine == "flite" else rng.uniform(0.9, 1.12)
        spoken.append(
            (text, replace(voice, tempo=rng.uniform(0.7, 1.3), pitch=rng.randint(25, 75), warp=warp))
        )
    return spoken


def train_network(vocabulary: Collection[str]) -> Network:
    """Train first on flite's own durations, then on all voices, labelled by that first network."""
    rng = np.random.default_rng(5)
    texts: list[str] = []
    clean: list[Features] = []
    noisy: list[Features] = []
    timed: dict[int, Labels] = {}
    for text, voice in _corpus(vocabulary):
        samples, ends = speak_timed(text, voice)
        texts.append(text)
        # Synthetic silence is all zeros, which no microphone gives: some hiss even in the clean ones.
        clean.append(cepstra(with_noise(samples, rng.uniform(25, 90), rng, rng.choice(SLOPES))))
        noisy.append(cepstra(with_noise(samples, rng.uniform(8, 28), rng, rng.choice(SLOPES))))
        # The diphone voice keeps other durations than it prints.
        if voice.engine == "flite" and not voice.name.startswith("kal"):
            timed[len(clean) - 1] = from_durations(ends, len(clean[-1]))
    rough = train([clean[n] for n in timed], list(timed.values()), len(SOUNDS), passes=12, seed=1)
    heard, told = [], []
    ways = lexicon({word for text in texts for word in text.split()})
    for text, features, with_hum in zip(texts, clean, noisy, strict=True):
        words = text.split()
        labels = best_path(words, ways, rough.scores(features))
        if labels is None:
            continue
        if not set(words) <= set(vocabulary):
            labels = np.where(labels == SILENCE, SILENCE, OTHER_TALK)
        heard += [features, with_hum]
        told += [labels, labels]
    return train(heard, told, len(SOUNDS), passes=12, seed=2)
