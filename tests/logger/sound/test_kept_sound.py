"""Kept sound, stretch by stretch: across files, in the file still open, and never from outside the drive's folders."""

from __future__ import annotations

import io
import wave
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from logger.errors import SoundError
from logger.model import RATE_HZ, Samples
from logger.sound import whole_sound
from logger.sound.clips import write_clip
from logger.sound.kept_sound import as_wav, has_whole_sound, peaks_of, read_kept_clip, read_whole
from logger.sound.whole_sound import WholeSound


def sound(count: int, seed: int = 1) -> Samples:
    """Noise: no two stretches are alike."""
    return np.random.default_rng(seed).integers(-20_000, 20_000, count).astype(np.int16)


@pytest.fixture
def drive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, Samples]:
    """Five seconds in files of two, the last one still open, as a WAV file."""
    monkeypatch.setattr(whole_sound, "FILE_S", 2.0)
    samples = sound(5 * RATE_HZ)
    keeper = WholeSound(tmp_path, 1)
    for first in range(0, len(samples), RATE_HZ // 2):
        keeper.add(first, samples[first : first + RATE_HZ // 2])
    assert {".flac", ".wav"} == {path.suffix for path in (tmp_path / "sound").iterdir()}
    return tmp_path, samples


@pytest.mark.parametrize(
    ("first", "count"),
    [(0, 100), (31_000, 3_000), (16_000, 60_000), (70_000, 500), (63_999, 2), (0, 80_000)],
)
def test_any_stretch(drive: tuple[Path, Samples], first: int, count: int) -> None:
    """Sample for sample, within one file and across."""
    folder, samples = drive
    begins, found = read_whole(folder, 1, first, count)

    assert first == begins
    assert_array_equal(samples[first : first + count], found)


def test_what_was_not_kept(drive: tuple[Path, Samples]) -> None:
    """Beyond the end only what there is; of another source nothing; a hole inside is silence."""
    folder, samples = drive
    _, found = read_whole(folder, 1, 79_000, 5_000)
    assert_array_equal(samples[79_000:], found)
    assert 0 == len(read_whole(folder, 1, 90_000, 10)[1])
    assert 0 == len(read_whole(folder, 2, 0, 10)[1])
    assert (True, False) == (has_whole_sound(folder, 1), has_whole_sound(folder, 2))

    (folder / "sound" / "001-0000032000.flac").unlink()
    begins, found = read_whole(folder, 1, 31_000, 40_000)
    assert (31_000, 40_000) == (begins, len(found))
    assert_array_equal(samples[31_000:32_000], found[:1_000])
    assert not found[1_000:33_000].any()
    assert_array_equal(samples[64_000:71_000], found[33_000:])


def test_a_clip(tmp_path: Path) -> None:
    """By its path inside the folder."""
    (tmp_path / "clips").mkdir()
    write_clip(tmp_path / "clips" / "1.flac", sound(500))

    assert_array_equal(sound(500), read_kept_clip(tmp_path, "clips/1.flac"))
    with pytest.raises(SoundError, match="no sound was kept"):
        read_kept_clip(tmp_path, "")
    with pytest.raises(SoundError, match="cannot be read"):
        read_kept_clip(tmp_path, "clips/2.flac")


@pytest.mark.parametrize(
    "clip",
    ["../secret.flac", "secret.flac", "clips/../secret.flac", "clips/linked.flac", "{absolute}", "clips"],
)
def test_nothing_outside_is_opened(tmp_path: Path, clip: str) -> None:
    """A drive folder from somebody else may name any path, or hold links; none of them is followed."""
    drive = tmp_path / "drive"
    (drive / "clips").mkdir(parents=True)
    for secret in (tmp_path / "secret.flac", drive / "secret.flac"):
        write_clip(secret, sound(500))
    (drive / "clips" / "linked.flac").symlink_to(tmp_path / "secret.flac")

    with pytest.raises(SoundError, match=r"not in|is a link|cannot be read"):
        read_kept_clip(drive, clip.replace("{absolute}", str(tmp_path / "secret.flac")))


def test_a_linked_folder_is_not_followed(tmp_path: Path) -> None:
    """Neither that of clips nor that of the whole sound."""
    other = tmp_path / "other"
    other.mkdir()
    write_clip(other / "1.flac", sound(500))
    write_clip(other / "001-0000000000.flac", sound(500))
    drive = tmp_path / "drive"
    drive.mkdir()
    (drive / "clips").symlink_to(other)
    (drive / "sound").symlink_to(other)

    with pytest.raises(SoundError, match="is a link"):
        read_kept_clip(drive, "clips/1.flac")
    with pytest.raises(SoundError, match="is a link"):
        read_whole(drive, 1, 0, 100)


def test_as_wav() -> None:
    """Python's own reader gives the same samples."""
    samples = sound(1_000)
    with wave.open(io.BytesIO(as_wav(samples))) as read:
        assert (1, 2, RATE_HZ) == (read.getnchannels(), read.getsampwidth(), read.getframerate())
        assert_array_equal(samples, np.frombuffer(read.readframes(1_000), "<i2"))


def test_peaks() -> None:
    """The loudest of each part in percent; full scale is 100, also negative; fewer samples than parts are stretched."""
    samples = np.zeros(1_000, np.int16)
    samples[10], samples[999] = 16_384, -32_768

    assert (50, *[0] * 8, 100) == peaks_of(samples, 10)
    assert (0, 0, 0) == peaks_of(samples[:0], 3)
    assert 7 == len(peaks_of(samples[9:12], 7))
