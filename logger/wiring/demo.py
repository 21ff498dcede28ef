"""The bundled sample drive: where it is found, and how it becomes a drive folder."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import logger
from grammar import Language
from logger.core.times import elapsed_text, time_of_day_text
from logger.core.utc import parse_utc_ns
from logger.errors import OdovoxError, SoundError
from logger.model import Entry, Status
from logger.store import DriveStore
from logger.wiring.choosing import Chosen, choose
from logger.wiring.ingest import Listener, ingest
from logger.wiring.reconciling import Summary

_SOUND = (".flac", ".ogg", ".wav")
_TRACK = (".gpx", ".nmea", ".csv")
STARTED = "started.txt"
"""A sample's file that says, as RFC 3339, when its first sound began."""


@dataclass(frozen=True, slots=True)
class Sample:
    """The files of a sample drive."""

    name: str
    sounds: tuple[Path, ...]
    track: Path
    sheet: Path | None
    started_utc_ns: int | None


def sample_places() -> tuple[Path, ...]:
    """Return where samples are looked for: beside the packages (a checkout), then inside them (an installation)."""
    package = Path(logger.__file__).resolve().parent
    return package.parent / "samples", package / "samples"


def find_sample(places: Path | None = None) -> Sample:
    """Return the first sample drive by name: in the folder given, else where samples are looked for.

    Raises:
        OdovoxError: there is none.
    """
    looked = (places,) if places is not None else sample_places()
    for place in looked:
        folders = [place, *sorted(place.iterdir())] if place.is_dir() else []
        for folder in folders:
            sample = _sample(folder) if folder.is_dir() else None
            if sample is not None:
                return sample
    raise OdovoxError(
        f"no sample drive in {' or '.join(str(place) for place in looked)}; run this in a checkout of odovox, "
        "or name a folder of samples with --samples"
    )


def ingest_sample(sample: Sample, folder: Path, listener: Listener) -> Summary:
    """Turn a sample into the drive in `folder`; the recogniser is PocketSphinx, so that all see the same.

    Raises:
        OdovoxError: the folder cannot be written, or holds another drive.
    """
    return ingest(
        folder,
        sample.sounds,
        (sample.track,),
        started_utc_ns=() if sample.started_utc_ns is None else (sample.started_utc_ns,),
        sheet_path=sample.sheet,
        choose=_listen,
        listener=listener,
    )


def doubts(folder: Path) -> str:
    """Return what a drive has in doubt, as text for a person.

    Raises:
        StoreError: there is no drive in the folder.
    """
    with DriveStore.open(folder, readonly=True) as store:
        flagged = [entry for entry in store.entries() if entry.status is Status.FLAGGED]
    if not flagged:
        return "Nothing is in doubt.\n"
    lines = [f"In doubt: {len(flagged)}"]
    for entry in flagged:
        lines.append(f"  {entry.id:>6}  {elapsed_text(entry.at_ns / 1e9)}  {_told(entry)}")
        others = [f'{_value(each.value, each.unit)} "{each.heard}"' for each in entry.alternatives[:3]]
        if others:
            lines.append(" " * 19 + "or " + ", ".join(others))
    return "\n".join(lines) + "\n"


def _told(entry: Entry) -> str:
    value = f" {_value(entry.value, entry.unit)}" if entry.value is not None else ""
    return f"{entry.quantity}{value}: {entry.reason}"


def _value(value: Decimal, unit: str) -> str:
    """Return a value with its unit; a time of day (minutes after midnight) as people write it."""
    return time_of_day_text(value) if unit == "min" else f"{value} {unit}"


def _listen(language: Language) -> Chosen:
    return choose("auto", None, language)


def _sample(folder: Path) -> Sample | None:
    files = sorted(path for path in folder.iterdir() if path.is_file())
    sounds = tuple(path for path in files if path.suffix in _SOUND)
    tracks = [path for path in files if path.suffix in _TRACK and path.stem == "track"]
    if not sounds or not tracks:
        return None
    sheet = folder / "sheet.toml"
    return Sample(
        folder.name, sounds, tracks[0], sheet if sheet.is_file() else None, _started(folder / STARTED)
    )


def _started(path: Path) -> int | None:
    if not path.is_file():
        return None
    try:
        return parse_utc_ns(path.read_text(encoding="utf-8").strip())
    except ValueError as error:
        raise SoundError(f"{path}: {error}") from error
