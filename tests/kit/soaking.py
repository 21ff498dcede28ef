"""A live drive in real time, for minutes or hours: calls and other talk played to a real `odovox record`, and what came of it."""

from __future__ import annotations

import os
import re
import statistics
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from gps_receiver import SPEED_MPS, Receiver
from live_drive import Recording, monotonic_to_utc_ns, rows
from numpy.typing import NDArray
from other_sound import number_talk
from processes import descendants
from sound_server import RATE_HZ, Feed, SoundServer
from speechkit.levels import Measure
from speechkit.noise import in_cabin
from speechkit.speaking import say
from speechkit.voices import voice

EVERY_S = 7.0
FIRST_S = 12.0
VOICES = ("flite-kal16", "flite-slt", "flite-awb", "flite-rms")
_LOOK_S = 10.0
"""Memory and processor time are looked at so often."""
_METRES_A_MILE = 1609.344


@dataclass(frozen=True, slots=True)
class Call:
    """Something said at a second of the sound, in somebody's voice."""

    at_s: float
    text: str
    voice: str

    @property
    def end_s(self) -> float:
        """When its last word is over."""
        return self.at_s + len(say(voice(self.voice), self.text)) / RATE_HZ


@dataclass(frozen=True, slots=True)
class Soaked:
    """What came of it.

    Attributes:
        calls: what was called out.
        talks: how often somebody talked instead.
        delays_s: from the end of each call that was answered to its first answer, and whether that left no doubt.
        answers: how often anything was told about calls, and of it how often in no call's time.
        looks: seconds, processor seconds, and MB of memory, of the program and its recognisers.
        late_ms: how much later than it was played a note's first word was placed.
        lost: what the drive says of sound that was lost.
        lines: all that was told.
    """

    calls: tuple[Call, ...]
    talks: int
    delays_s: tuple[tuple[float, bool], ...]
    answers: tuple[int, int]
    looks: tuple[tuple[float, float, float], ...]
    late_ms: tuple[float, ...]
    lost: tuple[str, ...]
    lines: tuple[str, ...]

    @property
    def core_share(self) -> float:
        """How much of one core it took."""
        (first_s, first_cpu_s, _), (last_s, last_cpu_s, _) = self.looks[0], self.looks[-1]
        return (last_cpu_s - first_cpu_s) / (last_s - first_s)

    @property
    def growth_mb(self) -> float:
        """How much more memory it had at the end than after a minute."""
        return self.looks[-1][2] - next(mb for at_s, _, mb in self.looks if at_s > 60.0)

    @property
    def steady_mb_minute(self) -> float:
        """How memory grew in the median ten seconds after the first minute, by the minute: a leak, and no sudden step, shows."""
        late = [look for look in self.looks if look[0] > 60.0]
        return statistics.median(
            (mb - mb_before) / (at_s - before_s) * 60
            for (before_s, _, mb_before), (at_s, _, mb) in pairwise(late)
            if at_s - before_s > _LOOK_S / 2
        )

    @property
    def slope_mb_minute(self) -> float:
        """How memory grew over the second half."""
        half = self.looks[len(self.looks) // 2 :]
        if len(half) < 3:
            return 0.0
        return statistics.linear_regression([look[0] / 60 for look in half], [look[2] for look in half]).slope


def is_talk(number: int) -> bool:
    """Whether somebody talks then instead of calling: every other time in ten of each thirty minutes, and in the third minute."""
    minute = (FIRST_S + EVERY_S * number) / 60 % 30
    return (2 <= minute < 3 or 10 <= minute < 20) and number % 2 == 1


def calls(minutes: float) -> tuple[Call, ...]:
    """Charge and trip in turn, as at a constant speed; every third time a note."""
    found = []
    for number in range(_slots(minutes)):
        if is_talk(number):
            continue
        if number % 3 == 2:
            text = ("note headwind", "note detour", "note traffic")[number // 3 % 3]
        elif number % 3 == 1:
            driven_miles = 97.0 + SPEED_MPS * EVERY_S * number / _METRES_A_MILE
            text = f"checkpoint {int(driven_miles * 10) / 10} miles"
        else:
            text = f"checkpoint {max(1, 99 - number // 30)} percent"
        found.append(Call(FIRST_S + EVERY_S * number, text, VOICES[number % len(VOICES)]))
    return tuple(found)


def sound_of(said: Sequence[Call], minutes: float, ratio_db: float | None) -> NDArray[np.int16]:
    """All of it and the talk, in faint noise, or in cabin noise at a ratio of speech to noise (broadband)."""
    noise = np.random.default_rng(3).normal(0, 60, 60 * RATE_HZ).astype(np.int16)
    sound = np.tile(noise, int(minutes) + 2)[: round((minutes * 60 + 5) * RATE_HZ)].copy()
    spoken = [(call.at_s, say(voice(call.voice), call.text)) for call in said]
    sentences = number_talk.sentences("report", 5)
    for number in filter(is_talk, range(_slots(minutes))):
        talk = say(voice(VOICES[number // 2 % len(VOICES)]), next(sentences))
        spoken.append((FIRST_S + EVERY_S * number, talk[: round(6.0 * RATE_HZ)]))
    for at_s, samples in spoken:
        at = round(at_s * RATE_HZ)
        sound[at : at + len(samples)] += (samples * 0.6).astype(np.int16)
    if ratio_db is None:
        return sound
    return in_cabin(sound, ratio_db, 17, measure=Measure.BROADBAND, around_s=0.0)


def soak(folder: Path, minutes: float, *options: str, ratio_db: float | None = None) -> Soaked:
    """Record such a drive in real time; how it goes is told on stderr.

    Args:
        folder: of the drive.
        minutes: how long.
        options: further ones of `odovox record`.
        ratio_db: see `sound_of`.
    """
    said = calls(minutes)
    sound = sound_of(said, minutes, ratio_db)
    looks = []
    with (
        SoundServer(room=True) as server,
        Receiver(3, moving=True) as receiver,
        Feed(server, sound, room=True) as feed,
        Recording(folder, server, "--gpsd", receiver.address, *options) as recording,
    ):
        recording.wait_for("listening to", 60)
        began_s = feed.began_ns / 1e9
        while (now_s := time.monotonic() - began_s) < minutes * 60:
            looks.append((now_s, *_used(recording.process.pid)))
            at_s, cpu_s, memory_mb = looks[-1]
            print(f"{at_s:.0f} s: {cpu_s:.1f} s of processor, {memory_mb:.1f} MB", file=sys.stderr)
            time.sleep(min(_LOOK_S, max(0.1, minutes * 60 - now_s)))
        looks.append((time.monotonic() - began_s, *_used(recording.process.pid)))
        recording.end(seconds=120)
        to_utc_ns = monotonic_to_utc_ns()
    told = [
        (at_s - began_s, line)
        for at_s, line in recording.lines
        if re.search(r" (taken|doubtful|not understood): ", line)
    ]
    beside = sum(all(not -0.5 < at_s - call.at_s < EVERY_S - 0.5 for call in said) for at_s, _ in told)
    lost = rows(folder, "SELECT message FROM issue WHERE code = 'live_sound'")
    return Soaked(
        said,
        sum(map(is_talk, range(_slots(minutes)))),
        tuple(_delays(said, told)),
        (len(told), beside),
        tuple(looks),
        tuple(_late_ms(said, folder, feed.began_ns + to_utc_ns)),
        tuple(str(row[0]) for row in lost),
        tuple(line for _, line in recording.lines),
    )


def _slots(minutes: float) -> int:
    return int((minutes * 60 - FIRST_S) / EVERY_S)


def _delays(said: Sequence[Call], told: list[tuple[float, str]]) -> list[tuple[float, bool]]:
    delays = []
    for call in said:
        after = [(at_s - call.end_s, line) for at_s, line in told if 0 < at_s - call.end_s < EVERY_S - 2]
        delays += [(delay_s, "taken" in line) for delay_s, line in after[:1]]
    return delays


def _late_ms(said: Sequence[Call], folder: Path, began_utc_ns: int) -> list[float]:
    drive_ns = int(str(rows(folder, "SELECT began_utc_ns FROM drive")[0][0]))
    noted = rows(folder, "SELECT at_ns FROM entry WHERE quantity = 'note' AND note NOT LIKE 'asked%'")
    played_ns = [began_utc_ns + round(call.at_s * 1e9) for call in said if call.text.startswith("note")]
    at_ns = [drive_ns + int(str(row[0])) for row in noted]
    return [min(((at - each) / 1e6 for each in played_ns), key=abs) for at in at_ns]


def _used(process: int) -> tuple[float, float]:
    """Processor seconds and MB of a process and those that it has started.

    What they share counts once. Programs and models that are mapped from files do not count: the system may drop them, and other
    programs share them.
    """
    ticks = kilobytes = 0
    for each in (process, *descendants(process)):
        fields = Path(f"/proc/{each}/stat").read_text().rsplit(")", 1)[1].split()
        ticks += int(fields[11]) + int(fields[12])
        rollup = Path(f"/proc/{each}/smaps_rollup").read_text()
        kilobytes += sum(int(line.split()[1]) for line in rollup.splitlines() if line.startswith("Pss_Anon:"))
    return ticks / os.sysconf("SC_CLK_TCK"), kilobytes * 1024 / 1e6
