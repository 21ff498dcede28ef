"""The kit that trains the call model: its features are Kaldi's, and Vosk computes what the exported network says.

What needs torch (augmentation, objective, the training itself) is not run here: torch alone is larger than all else
that the tests install. docs/call-model.md tells how it was run and how to see that it learns.
"""

from __future__ import annotations

import json
import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import kaldi_native_fbank as knf
import numpy as np
import pytest
from call_model import corpus, speaking, texts
from call_model.bands import BANDS, FFT, HIGHEST_HZ, LOWEST_HZ, SHIFT, WINDOW, cosine_transform, mel_bank
from call_model.export import export
from call_model.shape import BEFORE_LAST, CONTEXT, DILATIONS, FRONT, PAST, SUBSAMPLING, THIN, WIDTH
from numpy.typing import NDArray
from speechkit import noise
from speechkit.speaking import say
from speechkit.voices import (
    MORE_TRACTS,
    NEURAL,
    NEURAL_SPEAKERS,
    NEURAL_TUNING,
    REPORT,
    TRAINING,
    TUNING,
    kokoro,
    voice,
)

from logger.recognisers import call_model
from logger.recognisers.call_phones import SOUNDS, first_step, further_step, numbered, placed, places
from logger.recognisers.kaldi_graph import Graph
from logger.recognisers.pronunciations import dictionary_path, pronunciations
from logger.recognisers.vosk_engine import VoskRecogniser

Floats = NDArray[np.float64]
OUTPUTS = 2 * len(SOUNDS)
SOUND = noise.in_cabin(say(voice("espeak-en-us-m3"), "sixty three percent"), 20.0, 3)


def as_trained(options: Any) -> Any:
    """Set what energies and cepstra share, as in the model's `mfcc.conf`; return the options."""
    options.frame_opts.samp_freq = 16_000
    options.frame_opts.dither = 0.0
    options.use_energy = False
    options.mel_opts.num_bins = BANDS
    options.mel_opts.low_freq = LOWEST_HZ
    options.mel_opts.high_freq = HIGHEST_HZ
    return options


def energies(samples: NDArray[np.int16]) -> Floats:
    """Return log-mel energies by PyPI's kaldi-native-fbank, shape (frames, bands)."""
    options = as_trained(knf.FbankOptions())
    computer = knf.OnlineFbank(options)
    computer.accept_waveform(16_000, samples.astype(np.float32).tolist())
    computer.input_finished()
    return np.array([computer.get_frame(n) for n in range(computer.num_frames_ready)], np.float64)


def test_mel_bands_are_kaldis() -> None:
    """Our bands over the power spectrum of a frame give what kaldi-native-fbank gives, to rounding."""
    frame = SOUND[8000 : 8000 + WINDOW].astype(np.float64)
    level = frame - frame.mean()
    emphasised = level - 0.97 * np.concatenate((level[:1], level[:-1]))
    povey = (0.5 - 0.5 * np.cos(2 * math.pi * np.arange(WINDOW) / (WINDOW - 1))) ** 0.85
    power = np.abs(np.fft.rfft(emphasised * povey, FFT)) ** 2

    ours = np.log(power @ mel_bank(1.0))

    assert 8000 % SHIFT == 0
    assert ours == pytest.approx(energies(SOUND)[8000 // SHIFT], abs=2e-3)


def test_the_transform_is_kaldis() -> None:
    """Our cosine transform of the energies gives kaldi-native-fbank's cepstra, and loses nothing."""
    options = as_trained(knf.MfccOptions())
    options.num_ceps = BANDS
    options.cepstral_lifter = 0.0
    computer = knf.OnlineMfcc(options)
    computer.accept_waveform(16_000, SOUND.astype(np.float32).tolist())
    computer.input_finished()

    matrix = cosine_transform()

    assert matrix @ energies(SOUND)[50] == pytest.approx(computer.get_frame(50), abs=1e-2)
    assert matrix @ matrix.T == pytest.approx(np.eye(BANDS), abs=1e-12)


@pytest.mark.parametrize("warp", [0.84, 1.0, 1.18])
def test_a_warp_moves_the_bands_and_keeps_the_ends(warp: float) -> None:
    """A peak of the spectrum at 1 kHz appears where a voice `warp` times as high would have it; no band is empty."""
    bank = mel_bank(warp)
    bins_hz = np.arange(FFT // 2 + 1) * 16_000 / FFT
    heard = bank[np.argmin(np.abs(bins_hz - 1000))]
    usual = mel_bank(1.0)[np.argmin(np.abs(bins_hz - 1000 * warp))]

    assert (bank.sum(axis=0) > 0).all()
    assert abs(int(heard.argmax()) - int(usual.argmax())) <= 1


def random_weights(seed: int) -> dict[str, NDArray[np.float32]]:
    """Return a network that knows nothing, its norms not the identity, its scores a few units apart."""
    rng = np.random.default_rng(seed)
    state: dict[str, NDArray[np.float32]] = {}

    def layer(name: str, out: int, into: int, width: int, *, bias: bool = True) -> None:
        spread = math.sqrt(2 / (into * width))
        state[f"{name}.weight"] = (spread * rng.standard_normal((out, into, width))).astype(np.float32)
        if bias:
            state[f"{name}.bias"] = (0.1 * rng.standard_normal(out)).astype(np.float32)

    def norm(name: str, size: int) -> None:
        state[f"{name}.running_mean"] = (0.2 * rng.standard_normal(size)).astype(np.float32)
        state[f"{name}.running_var"] = rng.uniform(0.5, 2.0, size).astype(np.float32)

    for name, out, into, width in (
        ("first", FRONT, BANDS, 5),
        ("second", FRONT, FRONT, 3),
        ("third", WIDTH, FRONT, 3),
    ):
        layer(name, out, into, width)
        norm(f"{name}_norm", out)
    for index in range(len(DILATIONS)):
        layer(f"delays.{index}.narrow", THIN, WIDTH, 2, bias=False)
        layer(f"delays.{index}.widen", WIDTH, THIN, 2)
        norm(f"delays.{index}.norm", WIDTH)
    layer("before_last", BEFORE_LAST, WIDTH, 1)
    norm("before_last_norm", BEFORE_LAST)
    layer("last", OUTPUTS, BEFORE_LAST, 1)
    state["mean"], state["spread"] = np.full(BANDS, 10.0, np.float32), np.full(BANDS, 4.0, np.float32)
    return state


def scores(state: dict[str, NDArray[np.float32]], log_mel: Floats) -> Floats:
    """Return what the network says, shape (steps, outputs): written anew from docs/call-model.md, without torch."""

    def affine(name: str, x: Floats, dilation: int = 1) -> Floats:
        weight = state[f"{name}.weight"].astype(np.float64)
        width = weight.shape[2]
        length = x.shape[1] - dilation * (width - 1)
        parts = [weight[:, :, k] @ x[:, k * dilation : k * dilation + length] for k in range(width)]
        bias = state.get(f"{name}.bias")
        return sum(parts, np.zeros((len(weight), length))) + (0 if bias is None else bias[:, None])

    def normed(name: str, x: Floats) -> Floats:
        mean, variance = state[f"{name}.running_mean"], state[f"{name}.running_var"]
        return np.maximum(0.0, (x - mean[:, None]) / np.sqrt(variance[:, None] + 1e-5))

    steps = -(-len(log_mel) // SUBSAMPLING)
    after = CONTEXT + SUBSAMPLING * (steps - 1) - len(log_mel) + 1
    x = np.pad((log_mel.T - 10.0) / 4.0, ((0, 0), (CONTEXT, after)), mode="edge")
    x = normed("first_norm", affine("first", x))
    x = normed("second_norm", affine("second", x))
    x = normed("third_norm", affine("third", x)[:, ::SUBSAMPLING])
    for index, dilation in enumerate(DILATIONS):
        name = f"delays.{index}"
        heard = affine(f"{name}.widen", affine(f"{name}.narrow", x, dilation), dilation)
        x = normed(f"{name}.norm", heard) + PAST * x[:, dilation:-dilation]
    return affine("last", normed("before_last_norm", affine("before_last", x))).T


def test_vosk_computes_what_the_network_says(tmp_path: Path) -> None:
    """The score Vosk gives the one path through a graph of two words is that of the best path through our own scores.

    Weights are random, so nothing of the training can hide a fault of the export; they are kept in two bytes, hence a
    small difference.
    """
    state = random_weights(9)
    np.savez(tmp_path / "weights.npz", voices=np.array(["flite-rms"]), **state)
    export(tmp_path / "weights.npz", tmp_path / "model")
    assert "flite-rms\n" == (tmp_path / "model" / "voices.txt").read_text(encoding="utf-8")
    phones = [*said("sixty"), *said("three")]
    (folder := tmp_path / "one-path").mkdir()
    _write_one_path(folder, phones, tmp_path / "model")
    sounds = [next(each.sound for each in places() if each.phone == phone) for phone in phones]

    heard = VoskRecogniser(folder, (), frozenset(), 1).recognise(SOUND)

    best = _best_path(scores(state, energies(SOUND)), sounds)
    assert "sixty three" == heard[0].text
    assert heard[0].score == pytest.approx(best, rel=2e-3, abs=0.3)


def said(word: str) -> list[int]:
    """Return the phones of a word, said the first way."""
    return placed(numbered(pronunciations([word]))[word][0])


def _write_one_path(folder: Path, phones: list[int], weights: Path) -> None:
    graph = Graph()
    state = 0
    starts = {0: 1, len(said("sixty")): 2}
    for index, phone in enumerate(phones):
        after = graph.state()
        graph.arc(state, after, first_step(phone), starts.get(index, 0))
        graph.arc(after, after, further_step(phone))
        state = after
    graph.finals[state] = 0.0
    call_model.write_model_files(folder, graph, {"sixty": 1, "three": 2}, weights)


def _best_path(told: Floats, sounds: list[int]) -> float:
    """Return the score of the best path: each sound one first step, then further ones (Viterbi)."""
    at = np.full(len(sounds), -np.inf)
    at[0] = told[0, 2 * sounds[0]]
    for step in told[1:]:
        held = at + np.array([step[2 * sound + 1] for sound in sounds])
        come = np.concatenate(([-np.inf], at[:-1])) + np.array([step[2 * sound] for sound in sounds])
        at = np.maximum(held, come)
    return float(at[-1])


def test_voices_of_the_training_are_apart() -> None:
    """No voice that figures are reported on or settings chosen on teaches the model."""
    speakers = {each.speaker for each in (*TRAINING, *MORE_TRACTS, *NEURAL)}

    assert not speakers & {each.speaker for each in (*REPORT, *TUNING, *NEURAL_TUNING)}


def test_parts_of_both_kinds_are_read_back(tmp_path: Path) -> None:
    """What was spoken comes back with its words and its own sound, whoever spoke it, once; too long or without sound it does not."""
    sounds = [np.full(length, length % 1000, np.int16) for length in (400, 300, 10 * 16_000, 200)]
    words = [("ten",), ("twenty", "percent"), ("too", "long"), ("trip",)]
    speaking.write_part(
        tmp_path / "part-3",
        [
            ("x", sounds[0], words[0]),
            ("x", None, ("no", "sound")),
            ("x", sounds[1], words[1]),
            ("x", sounds[2], words[2]),
        ],
    )
    first, utterances, known = corpus.read(tmp_path, frozenset())
    speaking.write_part(tmp_path / "part-neural-3", [("y", sounds[3], words[3])])
    later, more, _ = corpus.read(tmp_path, known)

    assert [each.words for each in (*utterances, *more)] == [words[0], words[1], words[3]]
    for sound, each in ((first, utterances[0]), (first, utterances[1]), (later, more[0])):
        assert set(sound[each.begin : each.begin + each.samples]) == {each.samples}


def test_who_taught_the_shipped_model_is_told() -> None:
    """Its folder names the voices, all of them the training's or one of three people saying digits; Kokoro's by their speakers."""
    told = (call_model.shipped_weights() / "voices.txt").read_text(encoding="utf-8").split()
    synthetic = {each.name for each in (*TRAINING, *MORE_TRACTS, *map(kokoro, NEURAL_SPEAKERS))}
    reported = {each.name for each in (*REPORT, *TUNING, *NEURAL_TUNING)}

    assert synthetic == {name for name in told if not name.startswith("digits-")}
    assert 3 == sum(name.startswith("digits-") for name in told)
    assert not reported & set(told)


def test_a_voice_is_left_out_of_a_corpus(tmp_path: Path) -> None:
    """What one voice says is left out, the others' sound stays where it is; the corpus tells who speaks in it."""
    said = [("digits-a", "one", 3), ("flite-rms", "two", 4), ("digits-a", "six", 2), ("digits-b", "nine", 5)]
    np.save(tmp_path / "part-0.samples.npy", np.arange(14, dtype=np.int16))
    index = [{"voice": voice, "words": words, "samples": samples} for voice, words, samples in said]
    (tmp_path / "part-0.json").write_text(json.dumps(index))

    sound, found, _ = corpus.read(tmp_path, frozenset(), frozenset({"digits-a"}))

    kept = [
        (each.voice, each.words, sound[each.begin : each.begin + each.samples].tolist()) for each in found
    ]
    assert [("flite-rms", ("two",), [3, 4, 5, 6]), ("digits-b", ("nine",), [9, 10, 11, 12, 13])] == kept
    assert {"digits-a", "digits-b", "flite-rms"} == corpus.voices(tmp_path)


def test_texts_hold_calls_words_and_talk() -> None:
    """The training's texts say every word of the language, also in no order, and words that are none of it."""
    vocabulary = ("sixty", "three", "percent")
    made = texts.texts(400, 3, vocabulary, texts.dictionary_words(dictionary_path()))

    said = {word for text in made for word in text.words}
    assert set(vocabulary) | {"checkpoint", "kilometers", "correction"} <= said
    assert len(said) > 300
    assert any(set(pair) == {"percent", "sixty"} for text in made for pair in pairwise(text.words))
    assert made == texts.texts(400, 3, vocabulary, texts.dictionary_words(dictionary_path()))
