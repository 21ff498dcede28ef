"""Sound and tracks are placed in time, and what does not fit is told, before anything is stored."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import short_drives
import simulated_drives
import soundfile

from logger.core.utc import parse_utc_ns
from logger.errors import SoundError, TrackError
from logger.model import Source
from logger.wiring.planning import KnownSound, known_sounds, plan

NANO = 1_000_000_000
BEGAN = parse_utc_ns(short_drives.STARTED)


def sound(path: Path, length_s: float, level: int) -> Path:
    """Write a sound of its own content and return its path."""
    soundfile.write(path, np.full(round(length_s * 16_000), level, np.int16), 16_000)
    return path


@pytest.fixture
def sounds(tmp_path: Path) -> tuple[Path, Path]:
    """Two sounds of 10 s."""
    return sound(tmp_path / "one.wav", 10, 100), sound(tmp_path / "two.wav", 10, 200)


@pytest.fixture
def track(tmp_path: Path) -> Path:
    """A track of 15 s, from the moment the drives begin."""
    path = tmp_path / "track.gpx"
    fixes, _ = simulated_drives.drive(simulated_drives.constant(20.0), 16, simulated_drives.Noise())
    path.write_text(short_drives.gpx(fixes))
    return path


def test_one_start_is_the_first_sounds(sounds: tuple[Path, Path], track: Path) -> None:
    """With one start the second sound is left to follow on; where sound has no track is told."""
    planned = plan(sounds, (track,), (BEGAN,), began_utc_ns=None, known=())

    assert BEGAN == planned.began_utc_ns
    assert [BEGAN, None] == [each.start_utc_ns for each in planned.sounds]
    assert [10.0, 10.0] == [each.duration_s for each in planned.sounds]
    assert ["two.wav ends 5 s after the track; what was said then has no place"] == [
        each.message for each in planned.issues
    ]


def test_each_sound_may_have_its_start(sounds: tuple[Path, Path], track: Path) -> None:
    """With a start for each, each is where it was told to be; sound before and after the track is told."""
    starts = (BEGAN - 7 * NANO, BEGAN + 14 * NANO)

    planned = plan(sounds, (track,), starts, began_utc_ns=None, known=())

    assert starts == tuple(each.start_utc_ns for each in planned.sounds)
    assert 2 == len(planned.issues)
    assert "one.wav begins 7 s before the track" in planned.issues[0].message


def test_a_known_sound_keeps_its_start(sounds: tuple[Path, Path], track: Path) -> None:
    """A sound that the drive has is where it was, without being told; told otherwise it is refused."""
    first = plan(sounds[:1], (track,), (BEGAN,), began_utc_ns=None, known=()).sounds[0]
    known = (KnownSound(first.sha256, BEGAN, BEGAN + 10 * NANO),)

    planned = plan(sounds, (), (), began_utc_ns=BEGAN, known=known)

    assert [BEGAN, None] == [each.start_utc_ns for each in planned.sounds]
    with pytest.raises(SoundError, match=r"already, as begun at 2026-05-03T09:20:00\.000Z"):
        plan(sounds, (), (BEGAN + 1,), began_utc_ns=BEGAN, known=known)
    with pytest.raises(
        SoundError, match=r"two\.wav: nobody said when it began, and the drive has other sound"
    ):
        plan(sounds[1:], (), (), began_utc_ns=BEGAN, known=known)


def test_a_drive_without_sound_knows_when_it_began(sounds: tuple[Path, Path]) -> None:
    """A drive whose making was stopped before it came to the sound still knows when that began."""
    planned = plan(sounds, (), (), began_utc_ns=BEGAN, known=())

    assert BEGAN == planned.sounds[0].start_utc_ns
    assert () == planned.issues


def test_a_track_of_another_time_is_refused(sounds: tuple[Path, Path], track: Path) -> None:
    """A track that meets neither the new sound nor the known is refused, with both spans."""
    later = BEGAN + 60 * NANO
    with pytest.raises(
        TrackError, match=r"09:20:00.000Z to .*09:20:15.000Z, the sound from .*09:21:00.000Z to .*09:21:20"
    ):
        plan(sounds, (track,), (later,), began_utc_ns=None, known=())
    known = (KnownSound("another", BEGAN, BEGAN + NANO),)
    planned = plan(sounds, (track,), (later,), began_utc_ns=BEGAN, known=known)
    assert "one.wav ends" in planned.issues[0].message


def test_a_track_without_one_usable_fix_is_named(sounds: tuple[Path, Path], tmp_path: Path) -> None:
    """What is wrong with a track names the file."""
    path = tmp_path / "odd.csv"
    path.write_text("time,lat,lon\n2026-05-03T09:20:00Z,95,200\n")
    with pytest.raises(TrackError, match=r"odd\.csv"):
        plan(sounds, (path,), (BEGAN,), began_utc_ns=None, known=())


def test_known_sounds_have_the_spans_of_sources() -> None:
    """A finished source spans its samples (16 000 a second), an unfinished one only its start."""
    sources = (Source(1, "a", "aa", 5 * NANO, 32_000), Source(2, "b", "bb", 9 * NANO, None))

    assert (
        KnownSound("aa", BEGAN + 5 * NANO, BEGAN + 7 * NANO),
        KnownSound("bb", BEGAN + 9 * NANO, BEGAN + 9 * NANO),
    ) == known_sounds(BEGAN, sources)


def test_sound_of_the_same_time_is_refused(sounds: tuple[Path, Path], track: Path) -> None:
    """Other sound of a time of which the drive has sound would log every call twice; a moment shared is fine."""
    known = (KnownSound("cut off copy", BEGAN, BEGAN + 4 * NANO),)
    with pytest.raises(SoundError, match=r"one\.wav: is from the same time as sound that the drive has"):
        plan(sounds[:1], (track,), (BEGAN,), began_utc_ns=BEGAN, known=known)
    with pytest.raises(SoundError, match=r"two\.wav: is from the same time as one\.wav"):
        plan(sounds, (track,), (BEGAN, BEGAN + 4 * NANO), began_utc_ns=None, known=())
    assert plan(sounds, (track,), (BEGAN, BEGAN + 6 * NANO), began_utc_ns=None, known=())
