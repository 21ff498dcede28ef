"""Taking in: nothing is done twice, everything checked first, later sound and tracks add, stops lose nothing."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import numpy as np
import pytest
import short_drives
import soundfile
from heard import LINES, Counting, Remembering
from short_drives import ShortDrive

from logger.core.utc import parse_utc_ns
from logger.errors import RecogniserError, SheetError, SoundError, StoreError
from logger.model import Entry
from logger.store import DriveStore
from logger.wiring.ingest import ingest
from logger.wiring.reconciling import Summary

NANO = 1_000_000_000
BEGAN = parse_utc_ns(short_drives.STARTED)


def take(
    drive: ShortDrive,
    folder: Path,
    recogniser: Counting,
    *,
    sounds: tuple[Path, ...] | None = None,
    tracks: tuple[Path, ...] | None = None,
    started: tuple[int, ...] = (BEGAN,),
    sheet: Path | None = None,
    listener: Remembering | None = None,
) -> Summary:
    """Take a short drive in, or the files named."""
    return ingest(
        folder,
        (drive.sound,) if sounds is None else sounds,
        (drive.track,) if tracks is None else tracks,
        started_utc_ns=started,
        sheet_path=sheet,
        choose=recogniser.choose,
        listener=listener or Remembering(),
    )


def entries(folder: Path) -> tuple[Entry, ...]:
    """Return a drive's entries."""
    with DriveStore.open(folder, readonly=True) as store:
        return store.entries()


def test_each_stretch_is_asked_once_and_kept(short_drive: ShortDrive, tmp_path: Path) -> None:
    """Eight stretches are asked about; the one with no call in it is remembered, but its sound is not kept."""
    recogniser, listener = Counting(), Remembering()

    summary = take(short_drive, tmp_path / "drive", recogniser, listener=listener)

    assert 8 == recogniser.asked
    assert 7 == summary.calls
    assert 7 == len(list((tmp_path / "drive" / "clips").iterdir()))
    with DriveStore.open(tmp_path / "drive", readonly=True) as store:
        assert [7 if index != 2 else 0 for index in range(8)] == [
            7 if each.hypotheses else 0 for each in store.latest_recognitions()
        ]
        assert short_drives.LENGTH_S * 16_000 == store.sources()[0].sample_count
    assert 7 == listener.steps[-1].calls
    assert short_drives.LENGTH_S == listener.steps[-1].done_s == listener.steps[-1].total_s


def test_again_nothing_is_asked(short_drive: ShortDrive, tmp_path: Path) -> None:
    """A second run asks nothing and leaves the entries; another recogniser is asked about the very same stretches."""
    take(short_drive, tmp_path / "drive", Counting())
    before = entries(tmp_path / "drive")
    again, other = Counting(), Counting(["checkpoint fifty percent"] * 8, name="other")

    take(short_drive, tmp_path / "drive", again)

    assert 0 == again.asked
    assert before == entries(tmp_path / "drive")

    take(short_drive, tmp_path / "drive", other)

    assert 8 == other.asked
    assert {"fifty percent"} == {entry.heard for entry in entries(tmp_path / "drive")}
    # The stretch in which the first one heard nothing has its sound kept now.
    assert 8 == len(list((tmp_path / "drive" / "clips").iterdir()))
    with DriveStore.open(tmp_path / "drive", readonly=True) as store:
        assert 8 == len(store.utterances())


@pytest.mark.parametrize("stop", [KeyboardInterrupt, RecogniserError])
def test_a_stop_keeps_what_was_heard(
    stop: type[BaseException], short_drive: ShortDrive, tmp_path: Path
) -> None:
    """Stopped at the fifth stretch, the four before are logged; the next run asks about the four that are left."""
    take(short_drive, tmp_path / "whole", Counting())

    def fail(asked: int) -> None:
        if asked == 4:
            raise stop("stopped")

    with pytest.raises(stop):
        take(short_drive, tmp_path / "drive", Counting(before=fail))

    stopped = entries(tmp_path / "drive")
    assert {1, 2, 4} == {entry.utterance_id for entry in stopped}
    rest = Counting(LINES[4:])
    take(short_drive, tmp_path / "drive", rest)
    assert 4 == rest.asked
    assert entries(tmp_path / "whole") == entries(tmp_path / "drive")


def test_a_second_recording_follows_on(short_drive: ShortDrive, tmp_path: Path) -> None:
    """Two files of one drive, started once, are placed one after the other: the same times as in one file."""
    sound = soundfile.read(short_drive.sound, dtype="int16")[0]
    halves = (tmp_path / "one.wav", tmp_path / "two.wav")
    cut = 38 * 16_000
    soundfile.write(halves[0], sound[:cut], 16_000)
    soundfile.write(halves[1], sound[cut:], 16_000)
    take(short_drive, tmp_path / "whole", Counting())

    take(short_drive, tmp_path / "halves", Counting(), sounds=halves)

    whole = [entry.at_ns for entry in entries(tmp_path / "whole")]
    joined = [entry.at_ns for entry in entries(tmp_path / "halves")]
    assert len(whole) == len(joined)
    assert all(abs(one - other) < NANO // 4 for one, other in zip(whole, joined, strict=True))


def test_a_later_recording_and_another_track_add(short_drive: ShortDrive, tmp_path: Path) -> None:
    """A second ingest with sound from an hour later and its track adds to what is there; ids stay."""
    later = tmp_path / "later.flac"
    soundfile.write(later, soundfile.read(short_drive.sound, dtype="int16")[0][16_000:], 16_000)
    track = tmp_path / "later.gpx"
    track.write_text(short_drive.track.read_text().replace("T09:2", "T10:2"))
    take(short_drive, tmp_path / "drive", Counting())
    before = entries(tmp_path / "drive")

    take(
        short_drive,
        tmp_path / "drive",
        Counting(["checkpoint sixty percent"] * 8),
        sounds=(later,),
        tracks=(track,),
        started=(BEGAN + 3601 * NANO,),
    )

    after = entries(tmp_path / "drive")
    assert [entry.id for entry in before] == [entry.id for entry in after[: len(before)]]
    assert 8 == len({entry.utterance_id for entry in after[len(before) :]})
    assert all(entry.at_ns > 3600 * NANO for entry in after[len(before) :])
    with DriveStore.open(tmp_path / "drive", readonly=True) as store:
        assert 2 * 76 == len(store.fixes())


def test_only_a_track_can_be_added(short_drive: ShortDrive, tmp_path: Path) -> None:
    """Sound alone gives entries; its track can come later, and no recogniser is opened for it."""
    take(short_drive, tmp_path / "drive", Counting(), tracks=())
    recogniser = Counting()

    take(short_drive, tmp_path / "drive", recogniser, sounds=(), started=())

    assert 0 == recogniser.asked
    with DriveStore.open(tmp_path / "drive", readonly=True) as store:
        assert 76 == len(store.fixes())
    with pytest.raises(SoundError, match="a new drive needs sound"):
        take(short_drive, tmp_path / "new", recogniser, sounds=(), started=())


def test_a_start_nobody_told_is_the_tracks(short_drive: ShortDrive, tmp_path: Path) -> None:
    """Without a start the sound is taken to begin with the track, which is told and kept; a second run knows it."""
    listener = Remembering()

    take(short_drive, tmp_path / "drive", Counting(), started=(), listener=listener)

    assert ["start_assumed"] == [issue.code for issue in listener.issues]
    again = Counting()
    take(short_drive, tmp_path / "drive", again, started=())
    assert 0 == again.asked
    with DriveStore.open(tmp_path / "drive", readonly=True) as store:
        assert BEGAN == store.drive().began_utc_ns
        assert ["start_assumed"] == [issue.code for issue in store.issues()]
    with pytest.raises(SoundError, match="give --started, or a track"):
        take(short_drive, tmp_path / "new", Counting(), started=(), tracks=())


def test_what_is_odd_about_the_sound_is_kept(short_drive: ShortDrive, tmp_path: Path) -> None:
    """Silence has no entry; it is told, kept, and asks for a human, also in the run after."""
    silent = tmp_path / "silent.wav"
    soundfile.write(silent, np.zeros(16_000 * 5, np.int16), 16_000)
    for _ in range(2):
        summary = take(short_drive, tmp_path / "drive", Counting(), sounds=(silent,))

        assert summary.needs_human
        assert ["sound_silent"] == [issue.code for issue in summary.sound_issues]


def test_the_sheet_is_the_drives(short_drive: ShortDrive, tmp_path: Path) -> None:
    """The sheet's text is kept and used again without being named; another one is refused."""
    take(short_drive, tmp_path / "drive", Counting(), sheet=short_drive.sheet)
    with DriveStore.open(tmp_path / "drive", readonly=True) as store:
        assert short_drive.sheet.read_text() == store.drive().sheet_toml
    take(short_drive, tmp_path / "drive", Counting())
    take(short_drive, tmp_path / "drive", Counting(), sheet=short_drive.sheet)
    other = tmp_path / "other.toml"
    other.write_text('lead = "reading"\n')
    with pytest.raises(SheetError, match="is not the sheet"):
        take(short_drive, tmp_path / "drive", Counting(), sheet=other)


def test_a_file_that_goes_away_meanwhile_leaves_the_rest(short_drive: ShortDrive, tmp_path: Path) -> None:
    """When the second file cannot be read any more when its turn comes, what the first gave is logged."""
    second = tmp_path / "second.flac"
    shutil.copyfile(short_drive.sound, second)
    soundfile.write(second, soundfile.read(second, dtype="int16")[0][:32_000], 16_000)
    recogniser = Counting(before=lambda _: second.unlink(missing_ok=True))

    with pytest.raises(SoundError, match="no such file"):
        take(short_drive, tmp_path / "drive", recogniser, sounds=(short_drive.sound, second))

    assert 7 == len({entry.utterance_id for entry in entries(tmp_path / "drive")})


def test_a_half_made_drive_is_made_anew(short_drive: ShortDrive, tmp_path: Path) -> None:
    """A folder in which making the drive was cut off before its first commit is taken as empty."""
    folder = tmp_path / "drive"
    folder.mkdir()
    (folder / "drive.sqlite").write_bytes(b"")

    take(short_drive, folder, Counting())

    assert entries(folder)


def test_clips_that_cannot_be_written_are_told(short_drive: ShortDrive, tmp_path: Path) -> None:
    """A file where the folder of clips should be is one clear StoreError, before any entry claims a clip."""
    folder = tmp_path / "drive"
    folder.mkdir()
    (folder / "clips").write_text("in the way")

    with pytest.raises(StoreError, match="clips"):
        take(short_drive, folder, Counting())

    assert () == entries(folder)


def test_names_that_are_no_text_do_not_matter(short_drive: ShortDrive, tmp_path: Path) -> None:
    """Files whose names hold bytes that are no UTF-8 are taken in; their names are stored with question marks."""
    odd = Path(os.fsdecode(os.fsencode(tmp_path) + b"/rec\xff.wav"))
    soundfile.write(tmp_path / "rec.wav", np.zeros(16_000 * 5, np.int16), 16_000)
    (tmp_path / "rec.wav").rename(odd)
    track = Path(os.fsdecode(os.fsencode(tmp_path) + b"/track\xff.gpx"))
    shutil.copyfile(short_drive.track, track)
    listener = Remembering()

    take(short_drive, tmp_path / "drive", Counting(), sounds=(odd,), tracks=(track,), listener=listener)

    with DriveStore.open(tmp_path / "drive", readonly=True) as store:
        assert ["rec?.wav"] == [source.name for source in store.sources()]
        assert [issue.code for issue in listener.issues] == [issue.code for issue in store.issues()]


def test_what_is_odd_about_a_track_is_told_once(short_drive: ShortDrive, tmp_path: Path) -> None:
    """A track that the drive has already is remarked on, and its oddities are not told again."""
    lines = short_drive.track.read_text().splitlines(keepends=True)
    track = tmp_path / "gap.gpx"
    track.write_text("".join(lines[:20] + lines[40:]))
    listeners = Remembering(), Remembering()
    for listener in listeners:
        take(short_drive, tmp_path / "drive", Counting(), tracks=(track,), listener=listener)

    assert ["track_gap"] == [issue.code for issue in listeners[0].issues]
    assert [] == listeners[1].issues
    assert "gap.gpx is in the drive already" in listeners[1].remarks
