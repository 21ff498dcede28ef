"""How quick, how frugal and how right in time a live drive is: calls played into a virtual microphone, in real time.

The tables of docs/live.md: delay of the read-back from the end of speech, share of one core, memory, and how far the moments of
notes (whose first word is known) are from when they were played. `--minutes` makes it a soak; run it on an idle machine.

    python tests/benchmarks/living.py --minutes 2
    python tests/benchmarks/living.py --minutes 120 --recogniser pocketsphinx
"""

from __future__ import annotations

import argparse
import os
import re
import statistics
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from gps_receiver import SPEED_MPS, Receiver
from live_drive import Recording, monotonic_to_utc_ns, rows
from numpy.typing import NDArray
from other_sound import number_talk
from sound_server import RATE_HZ, Feed, SoundServer
from speechkit.speaking import say
from speechkit.voices import voice

EVERY_S = 7.0
FIRST_S = 12.0
VOICES = ("flite-kal16", "flite-slt", "flite-awb", "flite-rms")
WINDOW_S = 30.0
"""Memory and processor time are looked at so often."""


def is_talk(number: int) -> bool:
    """Whether somebody talks then instead of calling: every other time in ten of each thirty minutes."""
    minute = (FIRST_S + EVERY_S * number) / 60 % 30
    return 10 <= minute < 20 and number % 2 == 1


def calls(minutes: float) -> list[tuple[float, str, str]]:
    """When, in which words and in whose voice: charge and trip in turn, every third time a note."""
    texts = []
    count = int((minutes * 60 - FIRST_S) / EVERY_S)
    for number in range(count):
        if is_talk(number):
            continue
        if number % 3 == 2:
            text = ("note headwind", "note detour", "note traffic")[number // 3 % 3]
        elif number % 3 == 1:
            driven_miles = 97.0 + SPEED_MPS * EVERY_S * number / 1609.344
            text = f"checkpoint {int(driven_miles * 10) / 10} miles"
        else:
            text = f"checkpoint {max(1, 99 - number // 30)} percent"
        texts.append((FIRST_S + EVERY_S * number, text, VOICES[number % len(VOICES)]))
    return texts


def sound_of(said: list[tuple[float, str, str]], minutes: float) -> NDArray[np.int16]:
    """All of it in faint noise, and the talk."""
    noise = np.random.default_rng(3).normal(0, 60, 60 * RATE_HZ).astype(np.int16)
    sound = np.tile(noise, int(minutes) + 2)[: round((minutes * 60 + 5) * RATE_HZ)].copy()
    talk = number_talk.sentences("report", 5)
    count = int((minutes * 60 - FIRST_S) / EVERY_S)
    spoken_of = [(at_s, say(voice(name), text)) for at_s, text, name in said]
    for number in filter(is_talk, range(count)):
        sentence = say(voice(VOICES[number // 2 % len(VOICES)]), next(talk))
        spoken_of.append((FIRST_S + EVERY_S * number, sentence[: round(6.0 * RATE_HZ)]))
    for at_s, spoken in spoken_of:
        at = round(at_s * RATE_HZ)
        sound[at : at + len(spoken)] += (spoken * 0.6).astype(np.int16)
    return sound


def used(process: int) -> tuple[float, float]:
    """Processor seconds and resident MB of a process and its children."""
    children = Path(f"/proc/{process}/task/{process}/children").read_text().split()
    ticks = pages = 0
    for each in (str(process), *children):
        fields = Path(f"/proc/{each}/stat").read_text().rsplit(")", 1)[1].split()
        ticks += int(fields[11]) + int(fields[12])
        pages += int(fields[21])
    return ticks / os.sysconf("SC_CLK_TCK"), pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def main() -> None:
    """Record and print the tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--minutes", type=float, default=2.0)
    parser.add_argument("--recogniser", default="auto")
    parser.add_argument("--readback", default="tone")
    given = parser.parse_args()
    said = calls(given.minutes)
    sound = sound_of(said, given.minutes)
    samples: list[tuple[float, float, float]] = []
    with tempfile.TemporaryDirectory(prefix="odovox-live-") as place:
        folder = Path(place) / "drive"
        with (
            SoundServer(room=True) as server,
            Receiver(3, moving=True) as receiver,
            Feed(server, sound, room=True) as feed,
            Recording(
                folder,
                server,
                "--gpsd",
                receiver.address,
                "--recogniser",
                given.recogniser,
                "--readback",
                given.readback,
            ) as recording,
        ):
            recording.wait_for("listening to", 60)
            began_s = feed.began_ns / 1e9
            while (now_s := time.monotonic()) < began_s + given.minutes * 60:
                samples.append((now_s, *used(recording.process.pid)))
                cpu_s, memory_mb = samples[-1][1:]
                print(
                    f"{now_s - began_s:.0f} s: {cpu_s:.1f} s of processor, {memory_mb:.1f} MB",
                    file=sys.stderr,
                )
                time.sleep(min(WINDOW_S, max(0.1, began_s + given.minutes * 60 - now_s)))
            samples.append((time.monotonic(), *used(recording.process.pid)))
            recording.end(seconds=120)
            to_utc_ns = monotonic_to_utc_ns()
        report(said, recording, samples, began_s)
        moments(said, folder, feed.began_ns + to_utc_ns)
        lost = rows(folder, "SELECT message FROM issue WHERE code = 'live_sound'")
        print(f"\nsamples lost: {'; '.join(str(row[0]) for row in lost) or 'none'}")


def report(
    said: list[tuple[float, str, str]],
    recording: Recording,
    samples: list[tuple[float, float, float]],
    began_s: float,
) -> None:
    """Print delay, processor and memory."""
    lines = [
        (at_s, line) for at_s, line in recording.lines if re.search(r"(taken|doubtful|understood): ", line)
    ]
    delays = []
    for at_s, text, name in said:
        end_s = began_s + at_s + len(say(voice(name), text)) / RATE_HZ
        after = [line_s - end_s for line_s, _ in lines if 0 < line_s - end_s < EVERY_S - 2]
        delays += after[:1]
    seconds = samples[-1][0] - samples[0][0]
    share = (samples[-1][1] - samples[0][1]) / seconds
    half = samples[len(samples) // 2 :]
    talks = sum(map(is_talk, range(int((samples[-1][0] - began_s - FIRST_S) / EVERY_S))))
    beside = sum(
        all(not -0.5 < line_s - began_s - at_s < EVERY_S - 0.5 for at_s, _, _ in said) for line_s, _ in lines
    )
    slope = 0.0
    if len(half) > 2:
        slope = statistics.linear_regression(
            [each[0] / 60 for each in half], [each[2] for each in half]
        ).slope
    ranked = sorted(delays)
    print("| what | measured |")
    print("|---|---|")
    print(f"| calls said, answered | {len(said)}, {len(delays)} |")
    print(f"| delay from the end of speech: median, 95th percentile, worst | {ranked[len(ranked) // 2]:.2f} s, "
          f"{ranked[int(0.95 * len(ranked))]:.2f} s, {ranked[-1]:.2f} s |")  # fmt: skip
    print(f"| stretches of other talk, answers to them | {talks}, {beside} |")
    print(f"| share of one core | {share:.0%} |")
    print(
        f"| memory at the end; slope over the second half | {samples[-1][2]:.0f} MB; {slope:+.2f} MB a minute |"
    )


def moments(said: list[tuple[float, str, str]], folder: Path, began_utc_ns: int) -> None:
    """Print how late the moments of notes are."""
    drive_ns = int(str(rows(folder, "SELECT began_utc_ns FROM drive")[0][0]))
    noted = rows(folder, "SELECT at_ns FROM entry WHERE quantity = 'note' AND note NOT LIKE 'asked%'")
    played_ns = [began_utc_ns + round(at_s * 1e9) for at_s, text, _ in said if text.startswith("note")]
    late_ms = []
    for (at_ns,) in noted:
        at = drive_ns + int(str(at_ns))
        late_ms.append(min(((at - each) / 1e6 for each in played_ns), key=abs))
    late = np.array(late_ms)
    print(f"| moment of a note's first word, {len(late)} of {len(played_ns)} notes: mean, standard deviation, worst | "
          f"{late.mean():.0f} ms, {late.std(ddof=1):.0f} ms, {np.abs(late).max():.0f} ms |")  # fmt: skip


if __name__ == "__main__":
    main()
