"""Make each kind of sound and keep what is heard in it: `python -m other_sound.collecting --group tuning --out FILE`.

The sound of a kind and what was heard in it so far lie in a folder of their own beside `--out`, so that a run that was
interrupted goes on where it stopped. The result is one line a kind, as `rehearsed.records` writes drives: each stretch
that was cut is a "call" of the kind "talk" without readings. For noise, `ratio_db` is that of speech at the same noise;
for music, the middle of what its pieces have.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

import click
from rehearsed.records import Answers, RehearsedCall, RehearsedDrive, save
from speechkit import RATE_HZ

from other_sound import FOLDER, GROUPS, KINDS, MUSIC_DB, SPEECH_DB, Group, Placed
from other_sound.hearing import Heard, hear, stretches
from other_sound.rendering import rendered


def sound_of(kind: str, group: Group, folder: Path) -> tuple[Path, tuple[Placed, ...]]:
    """Return a kind's sound and words, made the first time."""
    path, words = folder / f"{kind}.flac", folder / f"{kind}.words.json"
    if not words.exists():
        folder.mkdir(parents=True, exist_ok=True)
        placed = rendered(kind, group, path)
        unfinished = words.with_suffix(".part")
        unfinished.write_text(json.dumps([asdict(each) for each in placed]), encoding="utf-8")
        unfinished.rename(words)
    return path, tuple(Placed(**each) for each in json.loads(words.read_text(encoding="utf-8")))


def heard_in(path: Path, kept: Path, jobs: int) -> tuple[Heard, ...]:
    """Return what is heard in a sound; what `kept` has already is not asked again."""
    done = tuple(_kept(kept)) if kept.exists() else ()
    asked = {each.first_sample for each in done}
    waiting = (each for each in stretches(path) if each.first_sample not in asked)
    with kept.open("w", encoding="utf-8") as lines:
        # Written anew, so that a line that was cut off in the middle does not stay.
        for each in done:
            lines.write(_line(each))
        for count, each in enumerate(hear(waiting, jobs), len(done) + 1):
            lines.write(_line(each))
            lines.flush()
            at_min = each.first_sample / RATE_HZ / 60
            print(f"\r{path.stem}: {count} stretches, {at_min:.1f} min", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    return tuple(_kept(kept))


def _line(heard: Heard) -> str:
    return json.dumps(asdict(heard)) + "\n"


def _kept(path: Path) -> Iterator[Heard]:
    for line in path.read_text(encoding="utf-8").splitlines():
        try:
            read = json.loads(line)
        except json.JSONDecodeError:
            return
        yield Heard(**{**read, **{name: _answers(read[name]) for name in ("vosk", "sphinx")}})


def _answers(read: list[tuple[str, float]]) -> Answers:
    return tuple((text, score) for text, score in read)


def as_drive(kind: str, group: Group, heard: tuple[Heard, ...], placed: tuple[Placed, ...]) -> RehearsedDrive:
    """Return one kind as a drive on which nothing was called out."""
    return RehearsedDrive(
        name=kind,
        group=group.name,
        seed=group.seed + KINDS.index(kind),
        system="miles",
        voice="in turn" if placed else "",
        ratio_db=sum(MUSIC_DB) / 2 if kind == "music" else SPEECH_DB,
        exception="",
        calls=tuple(
            RehearsedCall(
                at_s=each.first_sample / RATE_HZ,
                length_s=each.sample_count / RATE_HZ,
                text=_words(each, placed),
                kind="talk",
                readings=(),
                vosk=each.vosk,
                sphinx=each.sphinx,
            )
            for each in sorted(heard, key=lambda each: each.first_sample)
        ),
    )


def _words(heard: Heard, placed: tuple[Placed, ...]) -> str:
    """Return the sentences of which a part lies in a stretch."""
    end = heard.first_sample + heard.sample_count
    return " ".join(
        each.text for each in placed if each.first_sample < end and each.end_sample > heard.first_sample
    )


@click.command()
@click.option("--group", "group_name", type=click.Choice(sorted(GROUPS)), required=True)
@click.option("--out", type=click.Path(path_type=Path), default=None, help="build/other_sound/GROUP.jsonl.gz")
@click.option("--jobs", default=1, show_default=True, help="Processes that listen.")
@click.option("--only", type=click.Choice(KINDS), multiple=True, help="These kinds and no others.")
def main(*, group_name: str, out: Path | None, jobs: int, only: tuple[str, ...]) -> None:
    """Make the sound of a group, hear it, and write what was heard."""
    group = GROUPS[group_name]
    out = out or FOLDER / f"{group_name}.jsonl.gz"
    folder = out.parent / group_name
    drives = []
    for kind in only or KINDS:
        path, placed = sound_of(kind, group, folder)
        heard = heard_in(path, folder / f"{kind}.heard.jsonl", jobs)
        drives.append(as_drive(kind, group, heard, placed))
        seconds = sum(each.vosk_s for each in heard), sum(each.sphinx_s for each in heard)
        cut_s = sum(each.sample_count for each in heard) / RATE_HZ
        print(
            f"{group_name} {kind}: {len(heard)} stretches ({cut_s:.0f} s), a call heard in "
            f"{sum(bool(each.vosk) for each in heard)}; processor {seconds[0]:.0f} s + {seconds[1]:.0f} s",
            file=sys.stderr,
        )
    save(out, drives)


if __name__ == "__main__":
    main()
