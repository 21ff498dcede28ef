"""The kit that adapts the acoustic model reads, moves and writes what the real library loads."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
from cabin_model.adapting import FRAMES_PER_MEAN, FRAMES_PER_WEIGHT, Adaptation, Seen
from cabin_model.hearing import HMM, with_slopes
from cabin_model.model_files import (
    CEPSTRA,
    DENSITIES,
    PHONES,
    SENONES,
    STREAMS,
    Floats,
    phone_names,
    read_gaussians,
    read_variances,
    read_weights,
    write_gaussians,
    write_weights,
)
from speechkit import calls, noise
from speechkit.speaking import say
from speechkit.voices import TUNING

from grammar import Language, Phrasebook
from logger.model import Hypothesis, Samples
from logger.recognisers import pronunciations, sphinx_search
from logger.recognisers.pocketsphinx_engine import PocketSphinxRecogniser

LANGUAGE = Language(Phrasebook())
SHIPPED = sphinx_search.DATA
PARAMETERS = ("mean_of_utterance.params", "mean_from_outside.params")
GAUSSIANS = (PHONES, STREAMS, DENSITIES, CEPSTRA)
Model = tuple[Floats, Floats, Floats]


@pytest.fixture(scope="module")
def wheel() -> Model:
    """Return the means, variances and weights of the wheel's own model."""
    return read_gaussians(HMM / "means"), read_variances(HMM / "variances"), read_weights(HMM / "sendump")[1]


@pytest.fixture(scope="module")
def rewritten(tmp_path_factory: pytest.TempPathFactory, wheel: Model) -> Path:
    """Return a folder like the shipped one, with the wheel's model as we read and write it."""
    folder = tmp_path_factory.mktemp("rewritten")
    means, variances, weights = wheel
    write_gaussians(folder / "cabin.means", means)
    write_gaussians(folder / "cabin.variances", variances)
    write_weights(folder / "cabin.sendump", read_weights(HMM / "sendump")[0], weights)
    return _with_parameters(folder)


@pytest.fixture(scope="module")
def copied(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder like the shipped one, with the wheel's model byte for byte."""
    folder = tmp_path_factory.mktemp("copied")
    for name in ("means", "variances", "sendump"):
        shutil.copy(HMM / name, folder / f"cabin.{name}")
    return _with_parameters(folder)


def _with_parameters(folder: Path) -> Path:
    for name in PARAMETERS:
        shutil.copy(SHIPPED / name, folder / name)
    return folder


def recogniser(folder: Path, monkeypatch: pytest.MonkeyPatch) -> PocketSphinxRecogniser:
    """Return the shipped recogniser with the model of another folder."""
    monkeypatch.setattr(sphinx_search, "DATA", folder)
    return PocketSphinxRecogniser(LANGUAGE)


def tuning_calls(count: int, ratio_db: float) -> list[tuple[str, Samples]]:
    """Return the words and sound of calls in TUNING voices, at a ratio in 300-3400 Hz."""
    return [
        (call.text, noise.in_cabin(say(TUNING[index % len(TUNING)], call.script), ratio_db, 90 + index))
        for index, call in enumerate(calls.calls(count, 777))
    ]


def test_files_of_the_model_are_read_as_they_are_written(wheel: Model, rewritten: Path) -> None:
    """Means and variances come back as they were; a weight's byte moves by one step at most, as rows are normed."""
    means, variances, _ = wheel
    assert np.array_equal(means, read_gaussians(rewritten / "cabin.means"))
    assert np.allclose(variances, read_gaussians(rewritten / "cabin.variances"), rtol=1e-6, atol=0)

    old, new = (HMM / "sendump").read_bytes(), (rewritten / "cabin.sendump").read_bytes()
    assert len(old) == len(new)
    steps = np.frombuffer(old, np.uint8).astype(int) - np.frombuffer(new, np.uint8)
    assert np.abs(steps).max() <= 1
    assert np.count_nonzero(steps[: len(old) - STREAMS * DENSITIES * SENONES]) == 0


def test_the_library_hears_the_same_with_rewritten_files(
    rewritten: Path, copied: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rewritten means and variances give the same answers to the last digit, rewritten weights the same texts.

    Weights are kept in steps of 10 %, so a close decision in loud noise may fall otherwise: 20 dB here.
    """
    sounds = [sound for _, sound in tuning_calls(3, 20.0)]
    gaussians = shutil.copytree(rewritten, tmp_path / "gaussians")
    shutil.copy(copied / "cabin.sendump", gaussians / "cabin.sendump")

    def heard(folder: Path) -> list[tuple[Hypothesis, ...]]:
        ear = recogniser(folder, monkeypatch)
        return [ear.recognise(sound) for sound in sounds]

    wheels = heard(copied)
    assert any(wheels)
    assert wheels == heard(gaussians)
    assert _first(wheels) == _first(heard(rewritten))


def _first(heard: list[tuple[Hypothesis, ...]]) -> list[list[str]]:
    return [[answer.text for answer in answers[:1]] for answers in heard]


def test_phones_of_the_model_are_named() -> None:
    """The names are CMUdict's 39 phones, silence and two noises, and silence is among them."""
    names = phone_names(HMM / "mdef")

    assert set(pronunciations.PHONES) | {"SIL", "+NSN+", "+SPN+"} == set(names)
    assert len(names) == PHONES


def test_weights_are_shares() -> None:
    """The weights of each senone in each stream sum to one, none below zero, in both models."""
    for path in (HMM / "sendump", SHIPPED / "cabin.sendump"):
        _, weights = read_weights(path)
        assert (STREAMS, DENSITIES, SENONES) == weights.shape
        assert np.allclose(1.0, weights.sum(axis=1))
        assert weights.min() >= 0


def test_shipped_files_have_the_shapes_of_the_wheels_model(wheel: Model) -> None:
    """The shipped files fit the wheel's model, hold finite numbers and positive variances, and are not its own."""
    means = read_gaussians(SHIPPED / "cabin.means")
    variances = read_gaussians(SHIPPED / "cabin.variances")

    assert (GAUSSIANS, GAUSSIANS) == (means.shape, variances.shape)
    assert np.isfinite(means).all()
    assert variances.min() > 0
    assert (HMM / "sendump").stat().st_size == (SHIPPED / "cabin.sendump").stat().st_size
    moved = np.abs(means - wheel[0]) / np.sqrt(wheel[1])
    assert 0.02 < moved.mean() < 1.0  # standard deviations; measured: 0.17


def test_nothing_seen_changes_nothing(wheel: Model) -> None:
    """Without a frame the adapted model is the old one."""
    for old, new in zip(wheel, Adaptation(*wheel).adapted(), strict=True):
        assert np.allclose(old, new, rtol=1e-9, atol=1e-12)


def test_adaptation_agrees_with_the_sums_written_out(wheel: Model) -> None:
    """Means and weights of one phone are those of maximum a posteriori, computed by loops, and others stay.

    mean = (tau mean0 + sum g x) / (tau + sum g), weight likewise (Gauvain and Lee 1994, from memory).
    """
    phone, stream = 7, 0
    rng = np.random.default_rng(3)
    frames = wheel[0][phone, :, 5] + rng.normal(0, 0.2, (6, STREAMS, CEPSTRA))
    senones = np.array([40, 41, 40, 40, 41, 40])
    adaptation = Adaptation(*wheel)
    adaptation.see(phone, Seen(frames, senones))
    means, _, weights = adaptation.adapted()

    count, total, of_senone = np.zeros(DENSITIES), np.zeros((DENSITIES, CEPSTRA)), np.zeros(DENSITIES)
    for frame, senone in zip(frames[:, stream], senones, strict=True):
        likely = np.zeros(DENSITIES)
        for density in range(DENSITIES):
            mean, variance = (values[phone, stream, density] for values in wheel[:2])
            gauss = np.prod(np.exp(-((frame - mean) ** 2) / (2 * variance)) / np.sqrt(2 * np.pi * variance))
            likely[density] = wheel[2][stream, density, senone] * gauss
        share = likely / likely.sum()
        count += share
        total += share[:, None] * frame
        of_senone += share * (senone == 40)

    old = wheel[0][phone, stream]
    expected = (FRAMES_PER_MEAN * old + total) / (FRAMES_PER_MEAN + count[:, None])
    assert np.allclose(expected, means[phone, stream], rtol=1e-6)
    expected_weights = (FRAMES_PER_WEIGHT * wheel[2][stream, :, 40] + of_senone) / (FRAMES_PER_WEIGHT + 4)
    assert np.allclose(expected_weights, weights[stream, :, 40], rtol=1e-6, atol=1e-9)
    assert np.allclose(wheel[0][phone + 1 :], means[phone + 1 :])
    assert np.allclose(1.0, weights.sum(axis=1))


def test_many_frames_draw_the_model_to_them(wheel: Model) -> None:
    """After thousands of frames of one spread, the mixture of that senone has their mean."""
    phone, senone = 7, 40
    frames = np.random.default_rng(4).normal(2.0, 1.0, (4000, STREAMS, CEPSTRA))
    adaptation = Adaptation(*wheel)
    adaptation.see(phone, Seen(frames, np.full(len(frames), senone)))
    adapted = adaptation.adapted()

    def off(model: Model) -> float:
        mean = np.einsum("sd,sdc->sc", model[2][:, :, senone], model[0][phone])
        return float(np.abs(mean - 2.0).mean())

    assert off(adapted) < 0.5 * off(wheel)


def test_slopes_agree_with_loops() -> None:
    """Slopes look two frames to each side, slopes of slopes one more, and the ends are repeated.

    `1s_c_d_dd` as the library's documentation of features describes it (from memory).
    """
    cepstra = np.random.default_rng(5).normal(0, 1, (9, CEPSTRA))

    def at(frame: int) -> Floats:
        row: Floats = cepstra[min(max(frame, 0), len(cepstra) - 1)]
        return row

    expected = [
        [at(t), at(t + 2) - at(t - 2), (at(t + 3) - at(t - 1)) - (at(t + 1) - at(t - 3))]
        for t in range(len(cepstra))
    ]
    assert np.allclose(expected, with_slopes(cepstra))


def test_the_adapted_model_hears_more_in_noise(copied: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """At 10 dB more of twelve calls in TUNING voices are heard exactly, by three at least, than with the wheel's own model."""
    spoken = tuning_calls(12, 10.0)

    def exact(folder: Path) -> int:
        ear = recogniser(folder, monkeypatch)
        return sum([text] == [answer.text for answer in ear.recognise(sound)[:1]] for text, sound in spoken)

    ours, wheels = exact(SHIPPED), exact(copied)

    assert ours >= wheels + 3
