"""`odovox record` as a person runs it: a real sound server, the real gpsd, the real recognisers, signals and a disk."""

from __future__ import annotations

import re
import time
from pathlib import Path

import numpy as np
import pytest
import soundfile
from command_line import CommandLine
from earlier_run import leave_drive
from gps_receiver import METRES_A_MINUTE, SPEED_MPS, Receiver, free_port
from live_drive import Recording, drive_log, is_whole, monotonic_to_utc_ns, rows, spoken, spoken_s
from sleeping_machine import SleepingMachine
from sound_server import RATE_HZ, Feed, SoundServer
from stamps import lag

from logger.core.utc import parse_utc_ns
from logger.sound.whole_sound import sound_files

S = 1_000_000_000


def whole_sound(folder: Path, source_id: int) -> np.ndarray:
    """All sound of one source, as other programs read it."""
    return np.concatenate(
        [soundfile.read(path, dtype="int16")[0] for _, path in sound_files(folder, source_id)]
    )


def test_a_drive(run: CommandLine, tmp_path: Path) -> None:
    """Calls said in a room where the tones are heard too, driving north: right values, places and moments; then Ctrl-C."""
    looked_at_the_dash = [
        (0.5, "checkpoint sixty two percent"),
        (3.2, "ninety seven point two miles"),  # the tone came meanwhile
    ]
    steps = [
        ([(0.5, "checkpoint sixty three percent")], "charge 63 %"),
        (looked_at_the_dash, "trip 97.2 mi"),
        ([(0.5, "correction ninety seven point four miles")], "trip 97.4 mi"),
        ([(0.5, "note headwind")], "taken: headwind"),
        ([(0.5, "how far")], "taken: asked: how far"),
    ]
    folder = tmp_path / "drive"
    last = "checkpoint sixty one percent"
    sound = spoken([(0.5, last)], 4.0)
    said_s = {}
    with (
        SoundServer(room=True) as server,
        Receiver(3, moving=True) as receiver,
        Feed(server, spoken([], 1.0), room=True) as feed,
        Recording(folder, server, "--gpsd", receiver.address) as recording,
    ):
        recording.wait_for("listening to")
        for calls, answer in steps:
            began_s = feed.say(spoken(calls, 6.0))
            said_s |= {text: began_s + at_s for at_s, text in calls}
            recording.wait_for(answer)
            feed.wait_for_silence(1.0)  # who calls into a tone may not be heard
        last_s = feed.say(sound) + 0.5 + spoken_s(last)
        time.sleep(max(0.0, last_s + 0.1 - time.monotonic()))
        code = recording.end()  # with the last word just spoken
        to_utc_ns = monotonic_to_utc_ns()
    entries = drive_log(run, folder)
    told = recording.text

    assert code in {0, 1}, told  # how sure it is of each word is the recognisers' affair
    assert [
        ("charge", "63"),
        ("charge", "62"),
        ("trip", "97.4"),
        ("note", ""),
        ("note", ""),
        ("charge", "61"),
    ] == [(row["quantity"], row["value"]) for row in entries], told
    assert "spoken_correction" == entries[2]["origin"]
    assert ["headwind", "asked: how far"] == [row["note"] for row in entries if row["quantity"] == "note"]
    # A note's moment is that of its first word: on GPS time against when it was played.
    played_s = {
        note: at_s for said, at_s in said_s.items() for note in ("headwind", "how far") if note in said
    }
    late_ms = [
        (parse_utc_ns(row["at"]) - to_utc_ns) / 1e6 - played_s[row["note"].removeprefix("asked: ")] * 1e3
        for row in entries
        if row["quantity"] == "note"
    ]
    assert all(abs(each) < 150 for each in late_ms), late_ms
    # Where it was: due north at 25 m/s.
    for row in entries:
        driven_s = parse_utc_ns(row["at"]) / S - receiver.began.timestamp()
        expected_deg = 52.2 + driven_s * SPEED_MPS / METRES_A_MINUTE / 60
        assert pytest.approx(expected_deg, abs=8 / METRES_A_MINUTE / 60) == float(row["lat_deg"])  # 8 m
    # Told calmly: cautions first, a line a call, a line at the end; the tones were nobody's call.
    lines = [line for _, line in recording.lines]
    assert lines[0].startswith("odovox: set up while parked; eyes on the road")
    assert "running to empty in traffic is dangerous" in lines[1]
    # A line a call, and one more for the call that went on.
    assert 7 == sum(
        any(f" {verdict}: " in line for verdict in ("taken", "doubtful", "not understood")) for line in lines
    )
    assert "how far at 0:00:" in told
    assert f"{folder}: 6 calls" in lines[-1]
    # Everything said is on disk, sample for sample what was played, as far as no tone is heard over it.
    kept = whole_sound(folder, 1)
    played, alike = lag(sound, kept[-round(1.5 * RATE_HZ) : -round(0.7 * RATE_HZ)])
    assert alike > 0.99, played
    assert rows(folder, "SELECT sample_count FROM source") == [(len(kept),)]
    assert is_whole(folder)
    assert 0o700 == folder.stat().st_mode & 0o777
    # What was recorded is reconciled like any drive.
    again = run("reconcile", folder, "--explain", entries[0]["entry_id"])
    assert again.returncode in {0, 1}, again.stderr
    assert "63" in again.stdout
    assert entries == drive_log(run, folder)


def test_voice_and_calls_only(run: CommandLine, tmp_path: Path) -> None:
    """The voice, loud in the microphone, is nobody's call; without the whole sound, what follows a note is kept all the same."""
    steps = [
        ("checkpoint sixty three percent", "charge 63 %"),
        ("note headwind", "headwind"),
        ("say again", "taken: asked: say again"),
    ]
    folder = tmp_path / "drive"
    with (
        SoundServer(room=True) as server,
        Feed(server, spoken([], 1.0), room=True) as feed,
        Recording(
            folder, server, "--gpsd", f"127.0.0.1:{free_port()}", "--recogniser", "pocketsphinx", "--readback", "voice",
            "--keep", "calls",
        ) as recording,
    ):  # fmt: skip
        recording.wait_for("listening to")
        for call, answer in steps:
            sound = spoken([(0.5, call)], 4.0)
            feed.say(sound)
            recording.wait_for(answer)
            feed.wait_for_silence(1.0)
        time.sleep(1.5)
        assert recording.end() in {0, 1}
    entries = drive_log(run, folder)

    assert ["63", "", ""] == [row["value"] for row in entries], recording.text
    assert 3 == len(list((folder / "clips").glob("*.flac")))
    ((first_sample, path),) = sound_files(folder, 1)
    note = rows(folder, "SELECT first_sample + sample_count FROM utterance WHERE id = 2")
    assert [(first_sample,)] == note
    after, _ = soundfile.read(path, dtype="int16")
    assert len(after) > 5 * RATE_HZ
    # "say again", which was said after the note, is in it as it was played.
    said = sound[RATE_HZ // 2 : RATE_HZ]
    _, alike = lag(after, said)
    assert alike > 0.9


def test_time_to_turn_round(run: CommandLine, tmp_path: Path) -> None:
    """Out and back, gone on with 76 km out: asked, it says to go on; a lower charge later, unasked and once, to turn round.

    By hand, at 76 km and the few that the test lasts: 28 points on 58 km, at least 58 / 29 x (71.5 - 20) = 103.0 km from
    there with the reserve left, 18 of them driven: 85 against 76 back, so 4 km more. With 60 % called out here, 76 / 41 x
    (59.5 - 20) = 73.2 km against 76.
    """
    folder = tmp_path / "drive"
    with (
        SoundServer(room=True) as server,
        Receiver(3, moving=True) as receiver,
        Feed(server, spoken([], 1.0), room=True) as feed,
    ):
        leave_drive(
            folder, receiver, 76_000.0, {0.0: 100, 20_000.0: 90, 40_000.0: 80, 58_000.0: 72},
            'units = "metric"\n[out_and_back]\nreserve = "20 %"\n',
        )  # fmt: skip
        with Recording(
            folder, server, "--gpsd", receiver.address, "--recogniser", "pocketsphinx"
        ) as recording:
            recording.wait_for("listening to")
            feed.say(spoken([(0.5, "how far")], 2.5))
            recording.wait_for("taken: asked: how far")
            time.sleep(6.0)  # until the answer was spoken: who calls into it is not heard
            feed.say(spoken([(0.3, "checkpoint sixty percent")], 3.0))
            asked_until = recording.wait_for("taken: charge 60 %")
            recording.wait_for("unasked at", 20.0)
            assert recording.end() in {0, 1}
    told = [line for _, line in recording.lines]
    issues = dict(rows(folder, "SELECT code, message FROM issue"))

    (answer,) = [line for line in told[:asked_until] if "how far at 0:" in line]
    assert re.search(
        r"how far at 0:5\d:\d\d: 1\d\d kilometers to empty, 7[67] back; turn within [34];", answer
    )
    assert "58.0 km on 28 points of charge (100 % to 72 %)" in answer
    (advice,) = [line for line in told if "unasked at" in line]
    assert re.search(r": turn round now by these figures; 7[78] kilometers back;", advice)
    assert "(100 % to 60 %)" in advice
    assert "of reserve (20 points) is 7" in advice
    assert issues["how_far"] in answer
    assert issues["turning"] in advice
    assert 1 == rows(folder, "SELECT count(*) FROM issue WHERE code = 'turning'")[0][0]


def test_a_closed_lid_ends_the_drive(run: CommandLine, tmp_path: Path) -> None:
    """When the machine wakes, what was said before it slept is settled, a line says why, and it can be gone on with."""
    folder = tmp_path / "drive"
    machine = SleepingMachine(tmp_path)
    with (
        SoundServer() as server,
        Feed(server, spoken([], 1.0)) as feed,
        Recording(
            folder, server, "--gpsd", f"127.0.0.1:{free_port()}", "--recogniser", "pocketsphinx", extra=machine.environment
        ) as recording,
    ):  # fmt: skip
        recording.wait_for("listening to")
        feed.say(spoken([(0.5, "checkpoint sixty three percent")], 4.0))
        recording.wait_for("charge 63 %")
        machine.sleep(3 * 3600)
        assert recording.ended() in {0, 1}
    assert "the machine slept for 3:00:00: the drive ends here; start it again to go on" in recording.text
    assert ["63"] == [row["value"] for row in drive_log(run, folder)]
    assert [("live_slept",)] == rows(folder, "SELECT code FROM issue WHERE code LIKE 'live_s%'")
    assert [] == rows(folder, "SELECT id FROM source WHERE sample_count IS NULL")
