"""Make the sample drive anew from its seeds: `PYTHONPATH=.:tests/kit python samples/make.py [DIR]`.

Needs Debian's espeak-ng and flite, and takes about a minute.
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from loop import LENGTH_S, Drive, Receiver
from ogg_serial import set_serial
from said import TURNS, Turn
from speechkit import Samples
from speechkit.calls import LEAD, Said, reading
from speechkit.drive import DriveItem, render
from speechkit.human import HumanCall
from speechkit.speaking import say
from speechkit.talk import sentences
from speechkit.voices import voice

from logger.core.utc import format_utc, parse_utc_ns
from logger.model import RATE_HZ

SEED = 20
STARTED = "2031-06-14T09:40:00Z"
CLOCK_AHEAD_S = (8 * 60 + 40) * 60.0 + 11.0
"""The car's clock is an hour behind UTC, and 11 s fast."""
RATIO_DB = 14.0
"""Speech over cabin noise between 300 and 3400 Hz."""
SPLIT_S = 840
"""The recorder began a second file after 14 minutes."""
FOLDER = Path(__file__).resolve().parent / "ostmere-loop"

_COMPRESSION = 0.94
"""libsndfile's scale; for Opus here it comes to some 20 kbit/s."""
_PAUSE_S = {"lead": 0.10, "reading": 0.28}


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of what is said whose first sample is known: a reading, or all of a command or talk."""

    words: str
    said: Said | None
    shown: str
    first_sample: int
    end_sample: int


@dataclass(frozen=True, slots=True)
class Utterance:
    """One turn in sound, with its pieces."""

    turn: Turn
    samples: Samples
    pieces: tuple[Piece, ...]


def utterances(drive: Drive) -> tuple[Utterance, ...]:
    """Return everything said, spoken; readings show what the dash shows when their turn begins."""
    rng = random.Random(f"sample drive {SEED}")
    talk = iter(sentences(sum(turn.kind == "talk" for turn in TURNS), SEED))
    made = []
    for turn in TURNS:
        spoken = voice(turn.voice)
        if turn.kind in {"talk", "command"}:
            words = turn.words or next(talk)
            sound = say(spoken, words)
            made.append(Utterance(turn, sound, (Piece(words, None, "", 0, len(sound)),)))
            continue
        opening = "correction" if turn.kind == "correction" else LEAD
        sounds = [say(spoken, opening)]
        pieces = []
        dash, slips = drive.dash(turn.at_s, CLOCK_AHEAD_S).shown, dict(turn.slips)
        for number, (quantity, unit) in enumerate(turn.readings):
            shown = dash[quantity, unit]
            read = reading(quantity, shown + slips.get(quantity, 0), unit, rng)
            pause = np.zeros(round(_PAUSE_S["reading" if number else "lead"] * RATE_HZ), dtype=np.int16)
            sounds.append(pause)
            first = sum(map(len, sounds))
            sounds.append(say(spoken, read.script))
            pieces.append(Piece(read.text, read.said, format(shown, "f"), first, first + len(sounds[-1])))
        made.append(Utterance(turn, np.concatenate(sounds), tuple(pieces)))
    return tuple(made)


def truth(drive: Drive, spoken: Sequence[Utterance]) -> Iterator[dict[str, object]]:
    """Yield one record for each reading, command and sentence of talk, in the order said."""
    began = parse_utc_ns(STARTED)
    read_at: dict[str, float] = {}
    for number, each in enumerate(spoken, start=1):
        for piece in each.pieces:
            second = round(each.turn.at_s + piece.first_sample / RATE_HZ, 3)
            record: dict[str, object] = {
                "at": format_utc(began + round(second * 1e9)),
                "elapsed_s": second,
                "ends_s": round(each.turn.at_s + piece.end_sample / RATE_HZ, 3),
                "turn": number,
                "kind": {"call": "reading"}.get(each.turn.kind, each.turn.kind),
            }
            if piece.said is not None:
                record |= piece.said._asdict() | _about(each.turn, piece, read_at)
                read_at[piece.said.quantity] = second
            lat_deg, lon_deg = drive.place(second)
            yield record | {
                "words": piece.words,
                "voice": each.turn.voice,
                "lat_deg": round(lat_deg, 6),
                "lon_deg": round(lon_deg, 6),
                "driven_km": round(drive.at(drive.driven_m, second) / 1000, 3),
            }


def _about(turn: Turn, piece: Piece, read_at: dict[str, float]) -> dict[str, object]:
    """Say what is out of the ordinary about a reading."""
    assert piece.said is not None
    about: dict[str, object] = {}
    if piece.said.value != piece.shown:
        about["shown"] = piece.shown
    if turn.kind == "correction":
        about["replaces_s"] = read_at[piece.said.quantity]
    becomes = dict(turn.becomes).get(piece.said.quantity)
    return about if becomes is None else about | {"becomes": becomes}


def gpx(drive: Drive) -> str:
    """Return the receiver's track as GPX 1.1."""
    began = parse_utc_ns(STARTED)
    points = "".join(
        f'<trkpt lat="{lat:.6f}" lon="{lon:.6f}"><ele>{ele:.1f}</ele>'
        f"<time>{format_utc(began + round(second * 1e9))}</time></trkpt>\n"
        for second, lat, lon, ele in drive.fixes(SEED, Receiver())
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="odovox samples/make.py" xmlns="http://www.topografix.com/GPX/1/1">\n'
        f"<trk><name>Ostmere loop</name><trkseg>\n{points}</trkseg></trk></gpx>\n"
    )


def write_sound(folder: Path, spoken: Sequence[Utterance]) -> None:
    """Write the recording, in the two files that the recorder made of it."""
    items = [DriveItem(each.turn.at_s, HumanCall("", (), each.samples, frozenset())) for each in spoken]
    with tempfile.TemporaryDirectory() as scratch:
        whole = Path(scratch) / "whole.wav"
        render(whole, items, LENGTH_S, RATIO_DB, seed=SEED)
        samples = soundfile.read(whole, dtype="int16")[0]
    cut = SPLIT_S * RATE_HZ
    for number, part in enumerate((samples[:cut], samples[cut:]), start=1):
        path = folder / f"sound-{number}.ogg"
        with soundfile.SoundFile(
            path, "w", RATE_HZ, 1, "OPUS", format="OGG", compression_level=_COMPRESSION
        ) as file:
            for first in range(0, len(part), RATE_HZ):
                file.write(part[first : first + RATE_HZ])
        set_serial(path, number)


def main(folder: Path) -> None:
    """Write the sample's sound, track and truth; its sheet is written by hand."""
    folder.mkdir(parents=True, exist_ok=True)
    drive = Drive(SEED)
    spoken = utterances(drive)
    (folder / "truth.jsonl").write_text("".join(f"{json.dumps(each)}\n" for each in truth(drive, spoken)))
    (folder / "track.gpx").write_text(gpx(drive))
    (folder / "started.txt").write_text(f"{STARTED}\n")
    write_sound(folder, spoken)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)
