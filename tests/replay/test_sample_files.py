"""The sample's own files: what the issue asks of them, and that they come from their seeds."""

from __future__ import annotations

import importlib
import json
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
import soundfile
from geographiclib.geodesic import Geodesic
from sample_drive import FOLDER, SAMPLES, truth

from logger.core.sheet import parse_sheet
from logger.core.utc import parse_utc_ns
from logger.tracks import read_track
from logger.wiring.demo import find_sample

_TRUTH = truth()
_READINGS = [said for said in _TRUTH if said.values is not None]


@pytest.fixture
def make(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The script that makes the sample."""
    monkeypatch.syspath_prepend(str(SAMPLES))
    return importlib.import_module("make")


def test_it_is_small_and_found() -> None:
    """The sample takes less than 8 MB, and `odovox demo` finds all of it."""
    sample = find_sample()

    assert sum(path.stat().st_size for path in FOLDER.iterdir()) < 8_000_000
    assert FOLDER == sample.track.parent
    assert ["sound-1.ogg", "sound-2.ogg"] == [path.name for path in sample.sounds]
    assert sample.sheet is not None
    assert parse_sheet(sample.sheet.read_text(encoding="utf-8")).test["loop"]
    assert sample.started_utc_ns is not None


def test_it_holds_what_the_issue_asks_for() -> None:
    """At least 26 checkpoints by three speakers in mixed units, with notes, a correction, a strike and other talk."""
    kinds = [said.kind for said in _TRUTH]

    assert len({said.turn for said in _TRUTH if said.kind == "reading"}) >= 26
    assert len({said.voice for said in _READINGS}) >= 3
    assert {"km", "mi"} <= {said.values[2] for said in _READINGS if said.values}
    assert sum(said.words.startswith("note ") for said in _TRUTH) >= 2
    assert 1 == kinds.count("correction")
    assert "strike that" in [said.words for said in _TRUTH]
    assert kinds.count("talk") >= 10
    assert not any("checkpoint" in said.words for said in _TRUTH if said.kind == "talk")


def test_the_readme_tells_the_start() -> None:
    """samples/README.md gives the start of the sound as started.txt does."""
    started = (FOLDER / "started.txt").read_text(encoding="utf-8").strip()

    assert f"--started {started} " in (SAMPLES / "README.md").read_text(encoding="utf-8")


def test_the_truth_agrees_with_itself() -> None:
    """`at` is the start and `elapsed_s`; what the dash showed follows the distance driven; charge never rises."""
    began = parse_utc_ns((FOLDER / "started.txt").read_text(encoding="utf-8").strip())
    for line in (FOLDER / "truth.jsonl").read_text(encoding="utf-8").splitlines():
        record = json.loads(line)
        assert abs(parse_utc_ns(record["at"]) - began - record["elapsed_s"] * 1e9) < 2e6
    shown = [
        (said.values[0], float(said.shown or said.values[1]), said.values[2], said.driven_km)
        for said in _READINGS
        if said.values
    ]
    charges = [value for quantity, value, _, _ in shown if quantity == "charge"]
    starts_km = [
        value * (1.609344 if unit == "mi" else 1.0) - 1.012 * driven_km
        for quantity, value, unit, driven_km in shown
        if quantity == "trip"
    ]

    assert charges == sorted(charges, reverse=True)
    # The trip is read when its call begins (up to 6 s before its word, 0.15 km) and cut to 0.1 km or mile.
    assert max(starts_km) - min(starts_km) < 0.32


def test_the_track_is_that_of_the_truth() -> None:
    """Fixes lie some metres from the true places (geographiclib), never beyond 60; a tunnel of 23 s is left out."""
    fixes = read_track(FOLDER / "track.gpx").fixes
    began = parse_utc_ns((FOLDER / "started.txt").read_text(encoding="utf-8").strip())
    times_s = np.array([(fix.utc_ns - began) / 1e9 for fix in fixes])
    off_m = []
    for said in _TRUTH:
        near = np.searchsorted(times_s, said.elapsed_s)
        share = (said.elapsed_s - times_s[near - 1]) / (times_s[near] - times_s[near - 1])
        one, two = fixes[near - 1], fixes[near]
        lat_deg = one.lat_deg + share * (two.lat_deg - one.lat_deg)
        lon_deg = one.lon_deg + share * (two.lon_deg - one.lon_deg)
        off_m.append(Geodesic.WGS84.Inverse(said.lat_deg, said.lon_deg, lat_deg, lon_deg)["s12"])

    assert 1.0 < float(np.median(off_m)) < 8.0
    assert max(off_m) < 60.0
    assert [24.0] == [gap for gap in np.diff(times_s).round(3).tolist() if gap > 1.0]


def test_the_sound_lasts_as_long_as_the_track_and_more_is_said_than_silence() -> None:
    """The two files follow on from one another and end after the last word; sound is there all along."""
    lengths = []
    for name in ("sound-1.ogg", "sound-2.ogg"):
        with soundfile.SoundFile(FOLDER / name) as file:
            assert (16_000, 1, "OPUS") == (file.samplerate, file.channels, file.subtype)
            lengths.append(file.frames / file.samplerate)
            file.seek(int(file.frames) // 2)
            assert np.abs(file.read(16_000)).max() > 0.001

    assert 840.0 == lengths[0]
    assert _TRUTH[-1].ends_s < sum(lengths) < _TRUTH[-1].ends_s + 20.0


def test_track_and_truth_come_from_their_seeds(make: ModuleType) -> None:
    """What make.py makes now of track and truth is what is kept, byte for byte."""
    drive = make.Drive(make.SEED)
    made = "".join(f"{json.dumps(record)}\n" for record in make.truth(drive, make.utterances(drive)))

    assert (FOLDER / "truth.jsonl").read_text(encoding="utf-8") == made
    assert (FOLDER / "track.gpx").read_text(encoding="utf-8") == make.gpx(drive)
    assert (FOLDER / "started.txt").read_text(encoding="utf-8") == f"{make.STARTED}\n"


def test_a_stream_with_another_number_is_still_good(make: ModuleType, tmp_path: Path) -> None:
    """The checksum we write for a page is libsndfile's own for the same page; the renumbered file reads the same."""
    ogg = importlib.import_module("ogg_serial")
    path = tmp_path / "sound.ogg"
    tone = (8000 * np.sin(np.arange(48_000) / 9)).astype(np.int16)
    soundfile.write(path, tone, 16_000, format="OGG", subtype="OPUS")
    before, written = soundfile.read(path)[0], path.read_bytes()

    ogg.set_serial(path, int.from_bytes(written[14:18], "little"))
    assert written == path.read_bytes()

    ogg.set_serial(path, 7)
    assert written != path.read_bytes()
    assert np.array_equal(before, soundfile.read(path)[0])


def test_no_ogg_is_refused(make: ModuleType, tmp_path: Path) -> None:
    """A file of something else is not touched."""
    ogg = importlib.import_module("ogg_serial")
    path = tmp_path / "sound.wav"
    path.write_bytes(b"RIFF and so on")

    with pytest.raises(ValueError, match="no Ogg page"):
        ogg.set_serial(path, 7)
    assert b"RIFF and so on" == path.read_bytes()
