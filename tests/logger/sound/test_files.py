"""Sound files as blocks: checked against soundfile's own reading, the sampling theorem and coreutils."""

from __future__ import annotations

import os
import struct
import subprocess
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from logger.errors import SoundError
from logger.model import RATE_HZ
from logger.sound.files import SoundFile, SoundFileInfo, file_sha256, sound_file_info

RATES_HZ = (8000, 11025, 16000, 22050, 44100, 48000, 96000)
KINDS = {
    "wav": ("WAV", "PCM_16"),
    "wav24": ("WAV", "PCM_24"),
    "wav_float": ("WAV", "FLOAT"),
    "wav_ulaw": ("WAV", "ULAW"),
    "rf64": ("RF64", "PCM_16"),
    "w64": ("W64", "PCM_16"),
    "flac": ("FLAC", "PCM_16"),
    "vorbis": ("OGG", "VORBIS"),
    "opus": ("OGG", "OPUS"),
    "aiff": ("AIFF", "PCM_16"),
}


def noise(count: int, channels: int = 1, seed: int = 1) -> np.ndarray:
    """Return noise well below full scale, shape (count, channels)."""
    return np.random.default_rng(seed).normal(0, 0.1, (count, channels)).clip(-0.9, 0.9)


def make(path: Path, sound: np.ndarray, rate_hz: int = RATE_HZ, kind: str = "wav") -> Path:
    """Write a sound file."""
    container, coding = KINDS[kind]
    soundfile.write(path, sound, rate_hz, format=container, subtype=coding)
    return path


def read(path: Path, **options: int) -> tuple[np.ndarray, list[str]]:
    """Return all samples of a file and the codes of its issues."""
    file = SoundFile(path, **options)
    blocks = [block.samples for block in file]
    return np.concatenate(blocks or [np.empty(0, np.int16)]), [issue.code for issue in file.issues]


# --- what is read -----------------------------------------------------------------------------------------


def test_mono_at_our_rate_comes_through_unchanged(tmp_path: Path) -> None:
    """16-bit mono at 16 kHz, the extremes included, is delivered bit for bit."""
    sound = np.random.default_rng(2).integers(-32768, 32768, 40000).astype(np.int16)
    path = make(tmp_path / "a.flac", sound, kind="flac")

    samples, _ = read(path)

    assert np.array_equal(sound, samples)


def test_blocks_follow_each_other(tmp_path: Path) -> None:
    """Blocks are a second long but the last, and numbered without gap or overlap."""
    path = make(tmp_path / "a.wav", noise(44100 * 3 + 4410), 44100)

    blocks = list(SoundFile(path))

    assert [(0, 16000), (16000, 16000), (32000, 16000), (48000, 1600)] == [
        (block.first_sample, len(block.samples)) for block in blocks
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_read_to_its_end(tmp_path: Path, kind: str) -> None:
    """Each supported container and coding gives all of its sound, nothing odd noted."""
    path = make(tmp_path / "sound", noise(96000, 2), 48000, kind)

    samples, issues = read(path)

    assert 32000 == len(samples)
    assert [] == issues


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_a_click_stays_where_it_was(tmp_path: Path, rate_hz: int) -> None:
    """A click at 1.25 s is at 1.25 s at every rate, within a tenth of a millisecond: no delay is left in."""
    sound = np.zeros(rate_hz * 2)
    at = round(rate_hz * 1.25)
    sound[at] = 0.9
    path = make(tmp_path / "a.wav", sound, rate_hz)

    samples, _ = read(path)

    assert at / rate_hz == pytest.approx(int(np.argmax(np.abs(samples))) / RATE_HZ, abs=1e-4)


@pytest.mark.parametrize("kind", ["vorbis", "opus"])
def test_a_click_stays_where_it_was_after_lossy_coding(tmp_path: Path, kind: str) -> None:
    """Lossy codings keep a click within 3 ms: their own delay is taken out as well."""
    sound = noise(96000) * 0.001
    sound[60000:60048] = 0.9
    path = make(tmp_path / "sound", sound, 48000, kind)

    samples, _ = read(path)

    assert 60024 / 48000 == pytest.approx(int(np.argmax(np.abs(samples))) / RATE_HZ, abs=3e-3)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_a_tone_is_what_the_sampling_theorem_says(tmp_path: Path, rate_hz: int) -> None:
    """A 1 kHz tone, resampled, is the same tone sampled at 16 kHz to within -60 dB."""
    tone = 0.5 * np.sin(2 * np.pi * 1000 * np.arange(rate_hz) / rate_hz)
    path = make(tmp_path / "a.wav", tone, rate_hz, "wav_float")
    expected = 0.5 * np.sin(2 * np.pi * 1000 * np.arange(RATE_HZ) / RATE_HZ)

    samples, _ = read(path)

    error = (samples / 32768 - expected)[1600:-1600]
    assert np.sqrt(np.mean(error**2)) < 0.5 / np.sqrt(2) * 1e-3


def test_what_lies_above_8_khz_does_not_fold_back(tmp_path: Path) -> None:
    """A 10 kHz tone at 48 kHz is gone at 16 kHz, more than 60 dB down: no alias."""
    tone = 0.5 * np.sin(2 * np.pi * 10000 * np.arange(48000) / 48000)

    samples, _ = read(make(tmp_path / "a.wav", tone, 48000))

    assert np.sqrt(np.mean((samples[1600:-1600] / 32768) ** 2)) < 0.5 / np.sqrt(2) * 1e-3


@pytest.mark.parametrize("channels", [2, 3, 6])
def test_channels_are_averaged(tmp_path: Path, channels: int) -> None:
    """More channels than one become their mean."""
    sound = np.round(noise(16000, channels) * 32768) / 32768
    expected = np.rint(sound.mean(axis=1) * 32768)

    samples, _ = read(make(tmp_path / "a.wav", sound))

    assert np.max(np.abs(samples - expected)) <= 1


@given(block_samples=st.integers(1, 30000), first_sample=st.integers(0, 20000))
@settings(max_examples=30, deadline=None)
@pytest.mark.parametrize(
    ("rate_hz", "kind"),
    [(RATE_HZ, "flac"), (RATE_HZ, "wav"), (44100, "wav"), (RATE_HZ, "vorbis"), (48000, "opus")],
)
def test_reading_from_a_sample_on_gives_the_same_samples(
    tmp_path_factory: pytest.TempPathFactory, rate_hz: int, kind: str, block_samples: int, first_sample: int
) -> None:
    """Whatever the block size and the first sample, the samples are those of the whole file from there on."""
    path = tmp_path_factory.getbasetemp() / f"{kind}-{rate_hz}"
    if not path.exists():
        make(path, noise(rate_hz), rate_hz, kind)
    whole, _ = read(path)

    block_samples = max(block_samples, 50)
    blocks = list(SoundFile(path, block_samples=block_samples, first_sample=first_sample))

    assert whole[first_sample:].tolist() == [sample for block in blocks for sample in block.samples.tolist()]
    assert list(range(first_sample, len(whole), block_samples)) == [block.first_sample for block in blocks]


@pytest.mark.parametrize(("rate_hz", "kind"), [(48000, "flac"), (16000, "wav"), (44100, "vorbis")])
def test_memory_is_flat_in_the_length(tmp_path: Path, rate_hz: int, kind: str) -> None:
    """Ten minutes are read within 4 MB at the peak; their sound alone would be 19 MB, and 58 MB at 48 kHz."""
    path = tmp_path / "sound"
    container, coding = KINDS[kind]
    with soundfile.SoundFile(path, "w", rate_hz, 1, coding, format=container) as file:
        piece = noise(rate_hz * 2)
        for _ in range(300):
            file.write(piece)

    tracemalloc.start()
    try:
        count = sum(len(block.samples) for block in SoundFile(path))
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()

    assert 600 * RATE_HZ == count
    assert peak < 4_000_000


# --- what is known before and beside ----------------------------------------------------------------------


def test_info_says_what_is_in_the_file(tmp_path: Path) -> None:
    """Length, rate, channels and coding are the file's own."""
    path = make(tmp_path / "a.ogg", noise(22050, 2), 44100, "vorbis")

    info = sound_file_info(path)

    assert SoundFileInfo(22050, 44100, 2, "OGG", "VORBIS") == info
    assert info.duration_s == 0.5


def test_sha256_agrees_with_coreutils(tmp_path: Path) -> None:
    """The hash is the one that Debian's sha256sum prints."""
    path = make(tmp_path / "a.wav", noise(300_000))
    printed = subprocess.run(["sha256sum", path], capture_output=True, text=True, check=True).stdout

    assert printed.split()[0] == file_sha256(path)


# --- what is broken ---------------------------------------------------------------------------------------


def broken(folder: Path, what: str) -> Path:
    """Make one broken file."""
    path = folder / f"{what}.wav"
    whole = make(folder / "whole", noise(4000)).read_bytes()
    contents = {
        "empty": b"",
        "text": b"this is no sound at all\n" * 9,
        "zeros": bytes(5000),
        "head": whole[:20],
        "header": whole[:44],
        "m4a": b"\0\0\0\x20ftypM4A \0\0\0\0" + bytes(100),
        "webm": b"\x1a\x45\xdf\xa3" + bytes(100),
        "gsm_tag": whole[:20] + struct.pack("<H", 0x0999) + whole[22:],
        "flac_head": make(folder / "f", noise(4000), kind="flac").read_bytes()[:100],
        "ogg_head": make(folder / "o", noise(4000), kind="vorbis").read_bytes()[:200],
    }
    if what == "folder":
        path.mkdir()
    elif what == "pipe":
        os.mkfifo(path)
    elif what == "raw":
        path = folder / "sound.raw"
        path.write_bytes(bytes(1000))
    elif what == "mp3":
        soundfile.write(path, noise(4000), RATE_HZ, format="MP3")
    elif what == "au":
        soundfile.write(path, noise(4000), RATE_HZ, format="AU")
    elif what != "missing":
        path.write_bytes(contents[what])
    return path


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("missing", "no such file"),
        ("folder", "is a folder"),
        ("pipe", "is not a regular file"),
        ("empty", "is empty"),
        ("text", "is not a sound file"),
        ("zeros", "is not a sound file"),
        ("raw", "raw sound without a header"),
        ("head", "is damaged or of an unsupported kind"),
        ("header", "has a header but no sound"),
        ("m4a", "MPEG-4 sound"),
        ("webm", "Matroska"),
        ("mp3", "MP3 sound"),
        ("gsm_tag", "is damaged or of an unsupported kind"),
        ("flac_head", "no sound in it can be read"),
        ("ogg_head", "is damaged or of an unsupported kind"),
        ("au", "is not supported"),
    ],
)
def test_a_file_that_cannot_be_used_gives_one_clear_line(tmp_path: Path, what: str, words: str) -> None:
    """Each broken file raises a SoundError of one line with its path and what is wrong."""
    path = broken(tmp_path, what)

    with pytest.raises(SoundError) as caught:
        list(SoundFile(path))

    message = str(caught.value)
    assert str(path) in message
    assert words in message
    assert "\n" not in message


@pytest.mark.parametrize("what", ["missing", "folder"])
def test_hashing_what_cannot_be_read_is_a_sound_error(tmp_path: Path, what: str) -> None:
    """The hash of a missing file or a folder raises a SoundError, too."""
    with pytest.raises(SoundError):
        file_sha256(broken(tmp_path, what))


def test_parameters_out_of_range_are_a_callers_mistake(tmp_path: Path) -> None:
    """A block of no samples or a start before the file is a ValueError."""
    path = make(tmp_path / "a.wav", noise(100))

    with pytest.raises(ValueError, match="positive"):
        SoundFile(path, block_samples=0)
    with pytest.raises(ValueError, match="negative"):
        SoundFile(path, first_sample=-1)


# --- what is odd ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["wav", "wav_float", "rf64", "w64", "flac", "vorbis", "opus", "aiff"])
def test_a_file_cut_off_gives_what_it_has_and_says_so(tmp_path: Path, kind: str) -> None:
    """Six tenths of a file give that much of its sound but for a page, as the whole file gives it, and an issue."""
    path = make(tmp_path / "sound", noise(48000 * 10), 48000, kind)
    whole, _ = read(path)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) * 6 // 10])

    samples, issues = read(path)

    assert len(whole) * 4 // 10 < len(samples) < len(whole) * 7 // 10
    assert np.array_equal(whole[: len(samples) - 200], samples[:-200])
    assert ["sound_cut_off"] == issues


def test_a_wav_whose_sizes_were_never_written_is_read(tmp_path: Path) -> None:
    """A WAV from a pipe, with all-ones sizes, is read to its end without a word."""
    path = make(tmp_path / "a.wav", noise(16000))
    data = bytearray(path.read_bytes())
    data[4:8] = data[40:44] = b"\xff\xff\xff\xff"
    path.write_bytes(data)

    samples, issues = read(path)

    assert 16000 == len(samples)
    assert [] == issues


def test_clipped_sound_is_noted(tmp_path: Path) -> None:
    """Sound driven far over full scale is noted; the same sound below full scale is not."""
    tone = np.sin(np.arange(16000) / 9)

    assert ["sound_clipped"] == read(make(tmp_path / "a.wav", np.clip(tone * 1.5, -1, 1)))[1]
    assert [] == read(make(tmp_path / "b.wav", tone * 0.99))[1]


def test_silence_is_noted_and_delivered(tmp_path: Path) -> None:
    """A silent file gives its zeros and an issue."""
    samples, issues = read(make(tmp_path / "a.wav", np.zeros(20000)))

    assert 20000 == len(samples)
    assert not samples.any()
    assert ["sound_silent"] == issues


def test_what_is_no_number_becomes_silence(tmp_path: Path) -> None:
    """NaN and infinity in a float file become zeros, with an issue, and nothing around them changes."""
    sound = np.round(noise(16000)[:, 0] * 32768) / 32768
    spoilt = sound.copy()
    spoilt[[5, 900, 901]] = [np.nan, np.inf, -np.inf]
    expected = sound.copy()
    expected[[5, 900, 901]] = 0

    samples, issues = read(make(tmp_path / "a.wav", spoilt, kind="wav_float"))

    assert np.array_equal(expected * 32768, samples)
    assert ["sound_not_finite"] == issues


def test_float_sound_over_full_scale_is_limited(tmp_path: Path) -> None:
    """Float samples beyond full scale are limited, never wrapped round, and noted as clipped."""
    samples, issues = read(make(tmp_path / "a.wav", np.full(1000, 3.0), kind="wav_float"))

    assert [32767] == sorted(set(samples.tolist()))
    assert ["sound_clipped"] == issues


def test_channels_that_cancel_are_noted(tmp_path: Path) -> None:
    """Two channels of opposite sign leave nothing when averaged, which is said; ordinary stereo is not."""
    sound = noise(16000)

    assert ["sound_channels_cancel"] == read(make(tmp_path / "a.wav", np.hstack((sound, -sound))))[1]
    assert [] == read(make(tmp_path / "b.wav", noise(16000, 2)))[1]
