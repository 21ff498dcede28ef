"""Drives to review, stored as odovox stores them, from lists of answers really heard; their sound is made of tones.

A long one is put together of the rehearsed drives that the repository keeps, so that it has real doubts without hours of
sound being recognised.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from called_drives import BEGAN, CalledDrive, steady
from rehearsed.quick import QUICK
from rehearsed.records import load
from rehearsed.settled import heard_by

from logger.model import RATE_HZ, Drive, Fix, Recognition, Samples
from logger.sound.clips import write_clip
from logger.sound.whole_sound import WholeSound
from logger.store import DriveStore
from logger.wiring.reconciling import settle

NANO = 1_000_000_000
METRIC = 'units = "metric"\n'
RECOGNISER = "vosk call-model-2 with pocketsphinx"


def tone(seconds: float, hertz: float = 440.0) -> Samples:
    """A tone that swells and fades, so that its waveform has a shape."""
    at = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    loud = 9_000.0 * np.sin(math.pi * at / seconds) ** 2
    return (loud * np.sin(2.0 * math.pi * hertz * at)).astype(np.int16)


def straight_fixes(seconds: int, *, every_s: int = 1) -> list[Fix]:
    """A car that goes 90 km/h north on Greenwich's meridian, up and down over low hills."""
    return [
        Fix(
            BEGAN + second * NANO,
            45.0 + second * 25.0 / 111_130.0,
            0.5,
            altitude_m=120.0 + 40.0 * math.sin(second / 700.0),
            speed_mps=25.0,
        )
        for second in range(0, seconds, every_s)
    ]


def store_called(
    folder: Path,
    called: CalledDrive,
    *,
    fixes: Sequence[Fix] = (),
    clips: bool = True,
    whole_sound: bool = False,
    sheet: str = METRIC,
    settled: bool = True,
) -> Path:
    """Store a made-up drive's calls with some sound, and entries where it is to be settled; return its folder."""
    with DriveStore.create(folder, Drive(BEGAN, sheet)) as store:
        source = store.add_source("microphone", "" if whole_sound else "ab", 0)
        if clips:
            (folder / "clips").mkdir()
        recognitions = {each.utterance_id: each for each in called.recognitions}
        with store.atomic():
            for number, utterance in enumerate(called.utterances):
                clip = f"clips/{utterance.id:03d}.flac" if clips else ""
                kept = store.add_utterance(
                    source.id, utterance.first_sample, utterance.sample_count, utterance.start_ns, clip
                )
                if clips:
                    seconds = utterance.sample_count / RATE_HZ
                    write_clip(folder / clip, tone(seconds, 300.0 + 7.0 * (number % 40)))
                store.add_recognition(replace(recognitions[utterance.id], utterance_id=kept.id))
            if fixes:
                store.add_track_file("track.gpx", "cd", fixes)
        if whole_sound:
            _keep_whole(folder, source.id, called)
        if settled:
            settle(store)
    return folder


def _keep_whole(folder: Path, source_id: int, called: CalledDrive) -> None:
    """Keep a faint hum for the whole drive, and the tone of a call where one was."""
    end = max(each.first_sample + each.sample_count for each in called.utterances) + 5 * RATE_HZ
    sound = (300.0 * np.sin(np.arange(end) * (2.0 * math.pi * 120.0 / RATE_HZ))).astype(np.int16)
    for number, each in enumerate(called.utterances):
        call = tone(each.sample_count / RATE_HZ, 300.0 + 7.0 * (number % 40))
        sound[each.first_sample : each.first_sample + len(call)] += call
    keeper = WholeSound(folder, source_id)
    for first in range(0, len(sound), RATE_HZ):
        keeper.add(first, sound[first : first + RATE_HZ])
    keeper.close()


def doubtful_drive() -> CalledDrive:
    """Seven calls in ten minutes of which several are in doubt, some only as long as others are, a note, and one not understood."""
    called = CalledDrive()
    called.call(10, "checkpoint eighty percent forty two point one kilometers")
    called.call(
        100,
        "checkpoint seventeen percent forty four point three kilometers",
        "checkpoint seventy nine percent forty four point three kilometers",
        scores=[-0.1, -0.7],
    )
    called.call(190, "checkpoint seventy eight percent forty six point six kilometers")
    called.call(280, "note headwind")
    called.call(
        370,
        "checkpoint nineteen percent",
        "checkpoint ninety percent",
        scores=[-0.4, -0.6],
    )
    called.call(460, "checkpoint percent")
    called.call(550, "checkpoint three hundred and twelve kilometers left")
    return called


def long_drive(folder: Path, *, calls: int = 270, hours: float = 5.56) -> Path:
    """Five and a half hours with 20,000 fixes: calls of rehearsed drives one after the other, each heard by both recognisers."""
    heard = [
        Recognition(1, RECOGNISER, heard_by(call, RECOGNISER))
        for rehearsed in load(QUICK)
        if rehearsed.system == "miles"
        for call in rehearsed.calls
    ]
    called = CalledDrive(place_at=steady)
    seconds = hours * 3600.0
    for number, recognition in enumerate(heard[:calls]):
        called.call(0.0, "")
        called.recognitions[-1] = replace(recognition, utterance_id=number + 1)
    step_s = (seconds - 60.0) / len(called.utterances)
    called.utterances = [
        replace(
            each,
            first_sample=round((20 + number * step_s) * RATE_HZ),
            start_ns=round((20 + number * step_s) * NANO),
        )
        for number, each in enumerate(called.utterances)
    ]
    fixes = straight_fixes(round(seconds))
    return store_called(folder, called, fixes=fixes, clips=False, sheet="", settled=False)
