"""Clips: what goes in comes out, all or nothing."""

from __future__ import annotations

import resource
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import SoundError, StoreError
from logger.model import RATE_HZ
from logger.sound.clips import read_clip, write_clip


def samples(count: int = 5000) -> np.ndarray:
    """Return full-range noise, which hardly gets smaller as FLAC."""
    return np.random.default_rng(3).integers(-32768, 32768, count).astype(np.int16)


@given(values=st.lists(st.integers(-32768, 32767), min_size=1, max_size=300))
def test_samples_come_back_as_they_were(tmp_path_factory: pytest.TempPathFactory, values: list[int]) -> None:
    """Any samples, a single one included, come back bit for bit."""
    path = tmp_path_factory.getbasetemp() / "any.flac"

    write_clip(path, np.array(values, np.int16))

    assert values == read_clip(path).tolist()


def test_a_clip_is_ordinary_flac(tmp_path: Path) -> None:
    """Libsndfile sees a 16-bit mono FLAC file at 16 kHz, whose stream marker is that of RFC 9639."""
    path = tmp_path / "a.flac"

    write_clip(path, samples())

    info = soundfile.info(path)
    assert ("FLAC", "PCM_16", RATE_HZ, 1, 5000) == (
        info.format,
        info.subtype,
        info.samplerate,
        info.channels,
        info.frames,
    )
    assert path.read_bytes().startswith(b"fLaC")


def test_the_same_samples_give_the_same_bytes(tmp_path: Path) -> None:
    """Two clips of the same samples are equal files, and nothing else is left in the folder."""
    for name in ("a.flac", "b.flac"):
        write_clip(tmp_path / name, samples())

    assert (tmp_path / "a.flac").read_bytes() == (tmp_path / "b.flac").read_bytes()
    assert ["a.flac", "b.flac"] == sorted(path.name for path in tmp_path.iterdir())


def test_a_failed_write_leaves_the_old_clip_whole(tmp_path: Path) -> None:
    """When the system refuses more bytes, the clip that was there stays and no part is left behind."""
    path = tmp_path / "a.flac"
    write_clip(path, samples(100))
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (2000, hard))
    try:
        with pytest.raises(StoreError, match=r"a\.flac: cannot be written \(File too large\)"):
            write_clip(path, samples(20000))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))

    assert samples(100).tolist() == read_clip(path).tolist()
    assert [path] == list(tmp_path.iterdir())


@pytest.mark.parametrize("parent", ["missing", "file", "/sys"])
def test_a_folder_that_takes_no_files_is_a_store_error(tmp_path: Path, parent: str) -> None:
    """A folder that is missing, a file, or the system's own gives one line with the clip's path."""
    (tmp_path / "file").write_bytes(b"x")
    path = tmp_path / parent / "a.flac"

    with pytest.raises(StoreError) as caught:
        write_clip(path, samples())

    assert str(caught.value).startswith(f"{path}: cannot be written")
    assert "\n" not in str(caught.value)


def test_a_clip_without_samples_is_a_callers_mistake(tmp_path: Path) -> None:
    """No samples, no clip."""
    with pytest.raises(ValueError, match="at least one"):
        write_clip(tmp_path / "a.flac", np.empty(0, np.int16))


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("missing", "cannot be read"),
        ("cut", "is damaged"),
        ("text", "is damaged"),
        ("rate", "is not mono at"),
        ("stereo", "is not mono at"),
    ],
)
def test_a_clip_that_cannot_be_used_gives_one_clear_line(tmp_path: Path, what: str, words: str) -> None:
    """Missing, damaged and foreign clips raise a SoundError with the path."""
    path = tmp_path / "a.flac"
    if what == "text":
        path.write_text("no sound")
    elif what == "rate":
        soundfile.write(path, samples(), 8000)
    elif what == "stereo":
        soundfile.write(path, samples().reshape(-1, 2), RATE_HZ)
    elif what == "cut":
        write_clip(path, samples())
        path.write_bytes(path.read_bytes()[:3000])

    with pytest.raises(SoundError) as caught:
        read_clip(path)

    assert str(path) in str(caught.value)
    assert words in str(caught.value)
