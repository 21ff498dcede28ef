"""What breaks while a drive is recorded: each fault is one line, nothing that was said before is lost, and the drive goes on."""

from __future__ import annotations

import os
import random
import re
import signal
import sqlite3
import time
from datetime import timedelta
from pathlib import Path

import numpy as np
import soundfile
from command_line import CommandLine, one_line_error
from gps_receiver import Receiver, free_port
from live_drive import Recording, drive_log, is_whole, opens, rows, spoken
from small_disk import SmallDisk
from sound_server import RATE_HZ, Feed, SoundServer
from stamps import lag, share_heard

from logger.sound.whole_sound import leftover, open_file_samples, sound_files
from logger.voices.espeak import speak
from logger.wiring.recording.session import DAMAGED_SPOKEN

QUICK = ("--recogniser", "pocketsphinx")
KILLS = int(os.environ.get("ODOVOX_KILLS", "2"))
S = 1_000_000_000


def calls_of(folder: Path) -> set[str]:
    """The ids of the entries that a drive holds."""
    return {str(row[0]) for row in rows(folder, "SELECT id FROM entry")}


def kept(folder: Path, source_id: int) -> np.ndarray:
    """All sound of one source that can be played."""
    pieces = [
        open_file_samples(path) if path.suffix == ".wav" else soundfile.read(path, dtype="int16")[0]
        for _, path in sound_files(folder, source_id)
    ]
    return np.concatenate(pieces) if pieces else np.zeros(0, np.int16)


def wait_for_kill(recording: Recording, folder: Path, rng: random.Random, *, mid_write: bool) -> None:
    """Wait for a random moment, or for the one at which a clip is there and its call may be half stored."""
    until_s = time.monotonic() + rng.uniform(0.0, 5.0)
    clips = folder / "clips"
    before = set(clips.glob("*")) if clips.is_dir() else set()
    while time.monotonic() < until_s + (6.0 if mid_write else 0.0):
        if mid_write and clips.is_dir() and set(clips.glob("*")) - before:
            time.sleep(rng.uniform(0.0, 0.03))
            return
        assert recording.process.poll() is None, recording.text
        time.sleep(0.001)


def test_killed_again_and_again(run: CommandLine, tmp_path: Path) -> None:
    """SIGKILL at random moments, also mid-write: every call read back is there, and all sound up to a second before plays."""
    rng = random.Random(4)
    folder = tmp_path / "drive"
    length_s = 30.0 * KILLS + 40.0
    said = [
        (2.0 + 3.6 * each, f"checkpoint {90 - each % 60} percent") for each in range(int(length_s / 3.6) - 1)
    ]
    sound = spoken([(at_s, text.replace(str(90), "ninety")) for at_s, text in said], length_s)
    told = 0
    with SoundServer() as server, Receiver(3) as receiver, Feed(server, sound) as feed:
        for kill in range(KILLS):
            with Recording(folder, server, "--gpsd", receiver.address, *QUICK) as recording:
                recording.wait_for("listening to")
                if kill % 3 == 0:  # one in three right after an answer
                    recording.wait_for("charge")
                wait_for_kill(recording, folder, rng, mid_write=kill % 2 == 1)
                killed_s = time.monotonic()
                recording.kill()
            answered = re.findall(r"(?:taken|doubtful|understood): (.+)", recording.text)
            told += len(answered)
            assert "has given no sound" not in recording.text, recording.text
            source_id = len(rows(folder, "SELECT id FROM source"))
            assert is_whole(folder)
            assert len(rows(folder, "SELECT DISTINCT utterance_id FROM entry")) >= told, recording.text
            # The newest half second that can be played was played at most a second before the kill.
            newest = kept(folder, source_id)[-RATE_HZ // 2 :]
            if len(newest) == RATE_HZ // 2 and killed_s < feed.began_ns / S + length_s:
                from_s = max(0.0, killed_s - feed.began_ns / S - 3.0)
                around = sound[round(from_s * RATE_HZ) : round((from_s + 3.5) * RATE_HZ)]
                at, alike = lag(around, newest)
                assert alike > 0.95
                assert 3.0 - (at / RATE_HZ + 0.5) < 1.0
            clips = {f"clips/{path.name}" for path in (folder / "clips").glob("*.flac")}
            had_call = rows(folder, "SELECT clip FROM utterance WHERE id IN (SELECT utterance_id FROM entry)")
            assert {str(row[0]) for row in had_call} <= clips
        before = calls_of(folder)
        with Recording(folder, server, "--gpsd", receiver.address, *QUICK) as recording:
            recording.wait_for("listening to")
            assert recording.end() in {0, 1}

    assert told > 0
    assert before <= calls_of(folder)
    assert () == leftover(folder)
    assert [] == rows(folder, "SELECT id FROM source WHERE sample_count IS NULL")
    assert KILLS + 1 == len(rows(folder, "SELECT id FROM source"))
    opens(run, folder)


def test_receiver_and_microphone(run: CommandLine, tmp_path: Path) -> None:
    """A line each: no gpsd at the start; a leap; time going back; silence; gpsd killed; the sound server killed. All come back."""
    folder = tmp_path / "drive"
    receiver = Receiver(3, moving=True)
    with (
        SoundServer() as server,
        Feed(server, spoken([], 1.0)) as first,
        receiver,
        Recording(folder, server, "--gpsd", receiver.address, *QUICK) as recording,
    ):
        receiver.kill()
        at = recording.wait_for(f"nobody answers at {receiver.address}")
        receiver.start()
        recording.wait_for("listening to")
        first.say(spoken([(1.0, "checkpoint sixty three percent")], 4.0))
        recording.wait_for("charge 63 %")
        at = recording.wait_for("has a fix", after=at)
        first.end()
        server.kill()
        lost = recording.wait_for("has stopped: unplugged, or the sound server has ended", 8.0, after=at)
        receiver.leap_m = 7000.0
        at = recording.wait_for("the receiver leapt 7.", after=at)
        receiver.behind = timedelta(seconds=30)
        server.start()
        with Feed(server, spoken([], 1.0)) as second:
            at = recording.wait_for("the receiver's time went back by", after=at)
            receiver.mode = 0
            recording.wait_for("listening to", after=lost)
            second.say(spoken([(1.0, "checkpoint sixty two percent")], 4.0))
            at = recording.wait_for("has reported nothing for", after=at)
            receiver.behind, receiver.mode, receiver.leap_m = timedelta(0), 3, 0.0
            at = recording.wait_for("has a fix", after=at)
            receiver.kill()
            at = recording.wait_for("no position from", after=at)
            receiver.start()
            at = recording.wait_for("has a fix", after=at)
            recording.wait_for("charge 62 %")
            assert recording.end(signal.SIGTERM) in {0, 1}

    codes = {str(row[0]) for row in rows(folder, "SELECT code FROM issue")}
    assert {"live_no_position", "live_leap", "live_time_back", "live_microphone"} <= codes
    # Each time the microphone was opened is a source of its own, and what was said keeps its order.
    assert 2 == len(rows(folder, "SELECT id FROM source WHERE sample_count > 16000"))
    moments = [int(str(row[0])) for row in rows(folder, "SELECT start_ns FROM utterance ORDER BY id")]
    assert moments == sorted(moments)
    opens(run, folder)


def test_nowhere_to_write(run: CommandLine, tmp_path: Path) -> None:
    """The disk is full, then the folder read-only: told once each; calls and sound are held, and stored as soon as they can be."""
    with (
        SmallDisk(tmp_path / "disk") as disk,
        SoundServer() as server,
        Receiver(3) as receiver,
        Feed(server, spoken([], 1.0)) as feed,
        Recording(
            folder := disk.folder / "drive", server, "--gpsd", receiver.address, *QUICK, mortal=True
        ) as recording,
    ):
        recording.wait_for("listening to")
        feed.say(spoken([(1.0, "checkpoint sixty three percent")], 4.0))
        recording.wait_for("charge 63 %")
        disk.fill(recording.process.pid)
        recording.wait_for("the sound is not kept: ")
        feed.say(spoken([(0.5, "checkpoint sixty two percent")], 4.0))
        at = recording.wait_for("what is heard is held until it can be written")
        time.sleep(1.0)
        assert "charge 62 %" not in recording.text
        disk.empty()
        recording.wait_for("the sound is kept again; nothing of it is missing", after=at)
        at = recording.wait_for("nothing that was heard is missing", after=at)
        recording.wait_for("charge 62 %")
        for each in (folder, folder / "clips"):
            each.chmod(0o500)
        feed.say(spoken([(0.5, "checkpoint sixty one percent")], 4.0))
        at = recording.wait_for("what is heard is held until it can be written", after=at)
        for each in (folder, folder / "clips"):
            each.chmod(0o700)
        recording.wait_for("nothing that was heard is missing", after=at)
        recording.wait_for("charge 61 %")
        assert recording.end(signal.SIGHUP) in {0, 1}
        assert ["61", "62", "63"] == sorted(str(row[0]) for row in rows(folder, "SELECT value FROM entry"))
        ((length,),) = rows(folder, "SELECT sample_count FROM source")
        assert length == len(kept(folder, 1))
        opens(run, folder)

    reason = "No space left on device" if disk.is_real else "File too large"
    assert 1 == recording.text.count("the sound is not kept: "), recording.text
    assert f"({reason}); free some space or choose another folder" in recording.text
    assert "Permission denied" in recording.text


def test_a_page_of_the_database_is_damaged(run: CommandLine, tmp_path: Path) -> None:
    """Told once, in words too, while sound goes on being kept; all that was said, also since then, is recovered from it."""
    folder, new = tmp_path / "drive", tmp_path / "new"
    with (
        SoundServer(room=True) as server,
        Receiver(3) as receiver,
        Feed(server, spoken([], 1.0), room=True) as feed,
        Recording(folder, server, "--gpsd", receiver.address, *QUICK) as recording,
    ):
        recording.wait_for("listening to")
        feed.say(spoken([(0.5, "checkpoint sixty three percent")], 3.0))
        recording.wait_for("charge 63 %")
        damage_while_open(folder, "utterance", "entry")
        feed.say(spoken([(0.5, "checkpoint sixty two percent")], 3.0))
        recording.wait_for("drive.sqlite is damaged; bring it back from a backup, or run `odovox recover")
        # What follows our own voice within half a second is one stretch of sound with it; a busy machine is also late.
        feed.wait_for_silence(3.0)
        feed.say(spoken([(0.5, "note headwind")], 3.0))
        time.sleep(4.0)
        assert 2 == recording.end()
    clips = sorted((folder / "clips").glob("*.flac"))
    assert 3 == len(clips), recording.text
    clips[-1].unlink()  # then the note is in the whole sound only
    told = [line for _, line in recording.lines if "is damaged" in line]
    damaged = run("log", folder)
    recovered = run("recover", folder, "--out", new, *QUICK)

    assert 2 == len(told), recording.text  # when it was found, and at the end
    assert told[0].endswith("; until then sound is kept, and calls are heard from it afterwards")
    assert told[1].startswith("odovox: error: ")
    assert "can be written again" not in recording.text
    assert f"`odovox recover {folder} --out NEW`" in one_line_error(damaged.stderr)
    assert recovered.returncode in {0, 1}, recovered.stderr
    assert ["63", "62", ""] == [row["value"] for row in drive_log(run, new)], recovered.stderr
    assert kept(folder, 1).tolist() == kept(new, 1).tolist()
    assert len(kept(new, 1)) > 10 * RATE_HZ
    assert share_heard(kept(folder, 1), speak(DAMAGED_SPOKEN)) > 0.3
    opens(run, new)


def damage_while_open(folder: Path, *tables: str) -> None:
    """Overwrite the first pages of some tables; a small change of another program's makes SQLite read them again."""
    db = sqlite3.connect(folder / "drive.sqlite")
    db.execute("INSERT INTO issue (code, message) VALUES ('another', 'program')")
    db.commit()
    while db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]:  # the other one writes just now
        time.sleep(0.01)
    pages = [
        db.execute("SELECT rootpage FROM sqlite_schema WHERE name = ?", (each,)).fetchone()[0]
        for each in tables
    ]
    db.close()
    with (folder / "drive.sqlite").open("r+b") as file:
        for page in pages:
            file.seek((page - 1) * 4096)
            file.write(random.Random(page).randbytes(4096))


def test_only_one_records_and_only_where_it_can(run: CommandLine, tmp_path: Path) -> None:
    """A second one on the same drive, a folder that may not be written, no microphone at all: one line and exit code 2."""
    folder, port = tmp_path / "drive", free_port()
    with (
        SoundServer() as server,
        Feed(server, spoken([], 1.0)),
        Recording(folder, server, "--gpsd", f"127.0.0.1:{port}", *QUICK) as first,
    ):
        first.wait_for("listening to")
        with Recording(folder, server, *QUICK) as second:
            assert 2 == second.ended()
        assert 1 == first.end()  # nothing was heard
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o500)
    with Recording(closed / "drive", None, *QUICK, mortal=True) as third:
        assert 2 == third.ended()
    with Recording(tmp_path / "silent", None, "--gpsd", f"127.0.0.1:{port}", *QUICK) as fourth:
        assert 2 == fourth.ended()

    def error(recording: Recording) -> str:
        return one_line_error("\n".join(line for line in recording.text.splitlines() if "error: " in line))

    assert re.match(r"another odovox \(process \d+\) records into .+; end that one, or name", error(second))
    assert "cannot be written to (Permission denied); change its permissions" in error(third)
    assert "no microphone found; plug one in" in error(fourth)
    opens(run, folder)
