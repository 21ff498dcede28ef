"""Speaks the calls of rehearsed drives and keeps what both recognisers hear.

`python -m rehearsed.collecting --group tuning --part main --jobs 2 --out build/rehearsed/tuning-main.jsonl.gz`

What is done stays in `OUT.parts`, so a run that was broken off, or asked for more drives or ratios, does the rest only.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import click
from speechkit.calls import System
from speechkit.voices import GROUPS as VOICES
from speechkit.voices import Voice

from rehearsed.caller import planned
from rehearsed.hearing import GROUPS, hear, in_open_words, noise_seed, sound
from rehearsed.jobs import do_all
from rehearsed.records import RehearsedCall, RehearsedDrive, SaidReading, save

_FIRST_SEED = {"tuning": 20_000, "report": 30_000}
_MOST_CALLS = 200
_OPEN_WORDS_DRIVES = 8


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """A drive of a set before it is spoken."""

    group: str
    number: int

    @property
    def seed(self) -> int:
        """What its car, track and times follow from."""
        return _FIRST_SEED[self.group] + self.number

    @property
    def system(self) -> System:
        """Every other drive is in kilometres."""
        return "metric" if self.number % 2 else "miles"

    @property
    def voice(self) -> Voice:
        """The group's voices take turns."""
        voices = VOICES[self.group]
        return voices[self.number % len(voices)]

    @property
    def name(self) -> str:
        """Its name in its set."""
        return f"{self.group}-{self.number:02d}"


def heard_drive(piece: tuple[Rehearsal, float]) -> dict[str, Any]:
    """Return a drive as it is heard at a ratio, as JSON holds it."""
    rehearsal, ratio_db = piece
    calls = []
    for number, each in enumerate(planned(rehearsal.seed, rehearsal.system)):
        seed = noise_seed(rehearsal.group, "main", ratio_db, rehearsal.number * _MOST_CALLS + number)
        heard = hear(each.spoken.script, rehearsal.voice, rehearsal.system, ratio_db, seed)
        calls.append(
            RehearsedCall(
                at_s=round(each.at_s, 3),
                length_s=round(heard.length_s, 3),
                text=each.spoken.text,
                kind=each.spoken.kind,
                readings=tuple(SaidReading(*said) for said in each.spoken.truth),
                vosk=heard.vosk,
                sphinx=heard.sphinx,
            )
        )
    return asdict(
        RehearsedDrive(
            name=f"{rehearsal.name}-{ratio_db:g}dB",
            group=rehearsal.group,
            seed=rehearsal.seed,
            system=rehearsal.system,
            voice=rehearsal.voice.name,
            ratio_db=ratio_db,
            exception="",
            calls=tuple(calls),
        )
    )


def open_words(piece: tuple[Rehearsal, float]) -> list[str]:
    """Return what the open vocabulary makes of each call of a drive: of the same sounds that `heard_drive` makes."""
    rehearsal, ratio_db = piece
    texts = []
    for number, each in enumerate(planned(rehearsal.seed, rehearsal.system)):
        seed = noise_seed(rehearsal.group, "main", ratio_db, rehearsal.number * _MOST_CALLS + number)
        texts.append(in_open_words(sound(each.spoken.script, rehearsal.voice, ratio_db, seed)[0]))
    return texts


def _drives(drives: dict[str, Any], opened: dict[str, list[str]]) -> Iterator[RehearsedDrive]:
    for key in sorted(drives):
        drive = dict(drives[key])
        calls = drive.pop("calls")
        texts = opened.get(key, [None] * len(calls))
        yield RehearsedDrive(
            calls=tuple(_call(call, text) for call, text in zip(calls, texts, strict=True)), **drive
        )


def _call(kept: dict[str, Any], text: str | None) -> RehearsedCall:
    readings = tuple(SaidReading(**each) for each in kept["readings"])
    ears = {name: tuple((words, score) for words, score in kept[name]) for name in ("vosk", "sphinx")}
    return RehearsedCall(**{**kept, **ears, "readings": readings, "open_words": text})


@click.command()
@click.option("--group", type=click.Choice(GROUPS), required=True)
@click.option("--part", type=click.Choice(["main", "bank"]), required=True)
@click.option("--jobs", default=2, show_default=True)
@click.option("--out", type=click.Path(path_type=Path), required=True)
@click.option(
    "--drives", default=None, type=int, help="How many drives of the main part: 20 or 32 if not said."
)
@click.option("--ratios", default="10,5,20,0", show_default=True)
@click.option(
    "--open-words", "with_open_words", is_flag=True, help="Ask the open vocabulary for the first drives too."
)
def main(
    *, group: str, part: str, jobs: int, out: Path, drives: int | None, ratios: str, with_open_words: bool
) -> None:
    """Collect one part of a group."""
    ratios_db = [float(each) for each in ratios.split(",")]
    if part == "bank":
        from rehearsed.bank import collect, save_bank

        save_bank(out, collect(group, ratios_db, out.with_suffix(".parts"), jobs))
        return
    count = drives or {"tuning": 20, "report": 32}[group]
    pieces = [
        (f"{number:03d} {ratio_db:02g}", (Rehearsal(group, number), ratio_db))
        for ratio_db in ratios_db
        for number in range(count)
    ]
    found = do_all(heard_drive, pieces, out.with_suffix(".parts"), jobs)
    opened_pieces = (
        [piece for piece in pieces if piece[1][0].number < _OPEN_WORDS_DRIVES] if with_open_words else []
    )
    opened = do_all(open_words, opened_pieces, out.with_suffix(".open.parts"), jobs)
    save(out, _drives(found, opened))


if __name__ == "__main__":
    main()
