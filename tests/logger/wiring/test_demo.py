"""Finding a sample drive and making a drive of it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
import short_drives
from heard import Remembering
from short_drives import ShortDrive

from logger.core.utc import parse_utc_ns
from logger.errors import OdovoxError, SoundError
from logger.store import DriveStore
from logger.wiring.demo import STARTED, doubts, find_sample, ingest_sample, sample_places


@pytest.fixture
def samples(short_drive: ShortDrive, tmp_path: Path) -> Path:
    """A folder with a readme, a folder that is no sample, and a sample."""
    place = tmp_path / "samples"
    (place / "a notes").mkdir(parents=True)
    (place / "README.md").write_text("samples")
    folder = place / "loop"
    folder.mkdir()
    shutil.copyfile(short_drive.sound, folder / "sound.flac")
    shutil.copyfile(short_drive.track, folder / "track.gpx")
    shutil.copyfile(short_drive.sheet, folder / "sheet.toml")
    (folder / "truth.csv").write_text("at,said\n")
    (folder / STARTED).write_text(short_drives.STARTED + "\n")
    return place


def test_a_sample_is_found_by_its_files(samples: Path) -> None:
    """The first folder with sound and a file called track is the sample, by its folder or the one above."""
    for place in (samples, samples / "loop"):
        sample = find_sample(place)

        assert "loop" == sample.name
        assert ("sound.flac",) == tuple(path.name for path in sample.sounds)
        assert "track.gpx" == sample.track.name
        assert parse_utc_ns(short_drives.STARTED) == sample.started_utc_ns


def test_no_sample_is_one_clear_line(tmp_path: Path) -> None:
    """Where there is no sample, the places looked in are named, and what to do."""
    with pytest.raises(OdovoxError, match="--samples") as caught:
        find_sample(tmp_path)

    assert str(tmp_path) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_samples_are_looked_for_in_a_checkout_and_an_installation() -> None:
    """The first place is beside the package's folder, the second inside it."""
    checkout, installed = sample_places()

    assert Path(short_drives.__file__).resolve().parents[2] / "samples" == checkout
    assert "logger" == installed.parent.name


def test_a_start_that_is_none_is_told(samples: Path) -> None:
    """A sample whose start cannot be read names the file."""
    (samples / "loop" / STARTED).write_text("in the morning")
    with pytest.raises(SoundError, match=r"started\.txt"):
        find_sample(samples)


def test_a_sample_becomes_a_drive(samples: Path, tmp_path: Path) -> None:
    """The sample is heard by PocketSphinx and logged with its own sheet; doubts are listed with their reason."""
    listener = Remembering()

    summary = ingest_sample(find_sample(samples), tmp_path / "drive", listener)

    assert 7 <= summary.calls
    assert listener.remarks[0].startswith("listening with vosk")
    text = doubts(tmp_path / "drive")
    with DriveStore.open(tmp_path / "drive", readonly=True) as store:
        flagged = [entry for entry in store.entries() if entry.status == "flagged"]
    assert text.startswith(f"In doubt: {len(flagged)}\n" if flagged else "Nothing is in doubt.")
    assert all(entry.reason in text for entry in flagged)
