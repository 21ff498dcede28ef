"""Where each sound file and track lies in time, settled before anything is stored."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from logger.core.track import EDGE_NS, Track
from logger.core.utc import format_utc
from logger.errors import SoundError, TrackError
from logger.model import RATE_HZ, Issue, Source, TrackFile
from logger.sound.files import SoundFile, file_sha256
from logger.tracks import read_track

_NANO = 1_000_000_000
_MOST_OVERLAP_S = 5
"""Recorders that split a recording may repeat a moment of it, and a start is told to the second."""


@dataclass(frozen=True, slots=True)
class GivenTrack:
    """A track file that was read: its content's hash, its fixes, their time span, and all that was odd."""

    path: Path
    sha256: str
    file: TrackFile
    began_utc_ns: int
    ended_utc_ns: int
    issues: tuple[Issue, ...]


@dataclass(frozen=True, slots=True)
class GivenSound:
    """A sound file to take in.

    Attributes:
        path: the file.
        sha256: its content's hash.
        duration_s: what its header says, None where it says nothing.
        start_utc_ns: when its first sample was heard; None: when the one before it ends.
    """

    path: Path
    sha256: str
    duration_s: float | None
    start_utc_ns: int | None


@dataclass(frozen=True, slots=True)
class KnownSound:
    """A sound that the drive has already: its content's hash and its span of time."""

    sha256: str
    start_utc_ns: int
    end_utc_ns: int


@dataclass(frozen=True, slots=True)
class Plan:
    """What will be taken in, and what a person should know beforehand."""

    began_utc_ns: int
    sounds: tuple[GivenSound, ...]
    tracks: tuple[GivenTrack, ...]
    issues: tuple[Issue, ...]


def told_name(path: Path) -> str:
    """Return a file's name as text that can be stored: bytes in it that are no UTF-8 become question marks."""
    return path.name.encode("utf-8", "replace").decode("utf-8")


def open_track(path: Path) -> GivenTrack:
    """Read a track file and judge it on its own.

    Raises:
        TrackError: the file cannot be used.
    """
    file = read_track(path)
    try:
        track, issues = Track.from_fixes(file.fixes)
        sha256 = file_sha256(path)
    except (TrackError, SoundError) as error:
        raise TrackError(f"{path}: {error}") from error
    return GivenTrack(path, sha256, file, track.began_utc_ns, track.ended_utc_ns, (*file.issues, *issues))


def known_sounds(began_utc_ns: int, sources: Iterable[Source]) -> tuple[KnownSound, ...]:
    """Return the spans of the sounds that a drive has; one that was not taken in to its end has none but its start."""
    return tuple(
        KnownSound(
            source.sha256,
            began_utc_ns + source.start_ns,
            began_utc_ns + source.start_ns + (source.sample_count or 0) * _NANO // RATE_HZ,
        )
        for source in sources
    )


def plan(
    sounds: Sequence[Path],
    tracks: Sequence[Path],
    started_utc_ns: Sequence[int],
    *,
    began_utc_ns: int | None,
    known: Sequence[KnownSound],
) -> Plan:
    """Open all that was named and place it in time.

    Args:
        sounds: the sound files, in order.
        tracks: the track files.
        started_utc_ns: when the first of the sounds began, or when each did, or nothing.
        began_utc_ns: when the drive began, None for a new one.
        known: the sounds that the drive has.

    Raises:
        SoundError: a sound file cannot be used, nobody knows when it began, or there is other sound of that time.
        TrackError: a track cannot be used, or has nothing to do with the sound.
    """
    given_tracks = tuple(open_track(path) for path in tracks)
    placed = _placed(sounds, started_utc_ns, known)
    issues: tuple[Issue, ...] = ()
    if placed and placed[0].start_utc_ns is None:
        first, issues = _first_placed(placed[0], given_tracks, began_utc_ns, known)
        placed = (first, *placed[1:])
    _refuse_overlaps(placed, known)
    began = placed[0].start_utc_ns if placed and began_utc_ns is None else began_utc_ns
    if began is None:
        raise SoundError("a new drive needs sound; name at least one sound file")
    return Plan(began, placed, given_tracks, issues + _meetings(_spans(placed), given_tracks, known))


def _placed(
    sounds: Sequence[Path], started_utc_ns: Sequence[int], known: Sequence[KnownSound]
) -> tuple[GivenSound, ...]:
    starts = {each.sha256: each.start_utc_ns for each in known}
    placed: list[GivenSound] = []
    for index, path in enumerate(sounds):
        sound = SoundFile(path)
        # A file whose header alone is good is refused now, not after an hour of another.
        if next(iter(sound), None) is None:
            raise SoundError(f"{path}: has no sound in it; the recording was not saved")
        sha256 = file_sha256(path)
        said = started_utc_ns[index] if index < len(started_utc_ns) else None
        before = starts.get(sha256)
        if said is not None and before is not None and said != before:
            raise SoundError(
                f"{path}: is in this drive already, as begun at {format_utc(before)}; "
                "leave its --started out, or ingest into a new folder to place it anew"
            )
        if any(other.sha256 == sha256 for other in placed):
            raise SoundError(f"{path}: is named twice (or has the same content as another); name it once")
        placed.append(GivenSound(path, sha256, sound.info.duration_s, said if said is not None else before))
    return tuple(placed)


def _first_placed(
    sound: GivenSound,
    tracks: Sequence[GivenTrack],
    began_utc_ns: int | None,
    known: Sequence[KnownSound],
) -> tuple[GivenSound, tuple[Issue, ...]]:
    """Place the first sound, of which nobody said when it began, and say so."""
    if known:
        raise SoundError(
            f"{sound.path}: nobody said when it began, and the drive has other sound; give --started"
        )
    if began_utc_ns is None and not tracks:
        raise SoundError(f"{sound.path}: nobody said when it began; give --started, or a track")
    if began_utc_ns is not None:  # a run that made the drive was stopped before it came to the sound
        return replace(sound, start_utc_ns=began_utc_ns), ()
    start = min(track.began_utc_ns for track in tracks)
    what = (
        f"nobody said when {told_name(sound.path)} began, so it was taken to begin with the track, at "
        f"{format_utc(start)}; if it did not, ingest it into a new folder with --started"
    )
    return replace(sound, start_utc_ns=start), (Issue("start_assumed", what),)


_Span = tuple[str, int, int | None]
"""A sound's name, when it begins and when it ends; None where its header does not say."""


def _spans(sounds: Sequence[GivenSound]) -> list[_Span]:
    spans: list[_Span] = []
    end: int | None = None
    for sound in sounds:
        start = sound.start_utc_ns if sound.start_utc_ns is not None else end
        if start is None:
            break  # nothing is known of what follows a sound of unknown length
        end = None if sound.duration_s is None else start + round(sound.duration_s * _NANO)
        spans.append((told_name(sound.path), start, end))
    return spans


def _refuse_overlaps(sounds: Sequence[GivenSound], known: Sequence[KnownSound]) -> None:
    """Refuse sound of a time of which there is other sound already: every call would be logged twice.

    Raises:
        SoundError: two sounds overlap by more than `_MOST_OVERLAP_S`.
    """
    ours = {sound.sha256 for sound in sounds}
    before = [
        ("sound that the drive has", each.start_utc_ns, each.end_utc_ns)
        for each in known
        if each.sha256 not in ours
    ]
    for name, start, end in _spans(sounds):
        # A sound that was not taken in to its end, or does not say how long it is, counts as a moment.
        last = start if end is None else end
        for other, other_start, other_end in before:
            shared_ns = min(last, other_end) - max(start, other_start)
            if shared_ns > _MOST_OVERLAP_S * _NANO or start == other_start:
                raise SoundError(
                    f"{name}: is from the same time as {other} ({format_utc(other_start)} to "
                    f"{format_utc(other_end)}); check --started, or ingest it into a new folder"
                )
        before.append((name, start, last))


def _meetings(
    spans: Sequence[_Span], tracks: Sequence[GivenTrack], known: Sequence[KnownSound]
) -> tuple[Issue, ...]:
    """Refuse a track that meets no sound, and say where sound has no track.

    Raises:
        TrackError: a track and the sound lie wholly apart in time.
    """
    every: list[_Span] = [*spans, *(("", each.start_utc_ns, each.end_utc_ns) for each in known)]
    for track in tracks:
        if every and not any(_meet(track, span) for span in every):
            raise TrackError(
                f"{track.path}: is from another time: the track runs from {format_utc(track.began_utc_ns)} to "
                f"{format_utc(track.ended_utc_ns)}, the sound {_told(every)}; check --started and its zone, "
                "or name the track of this drive"
            )
    if not tracks:
        return ()
    issues = []
    began = min(track.began_utc_ns for track in tracks)
    ended = max(track.ended_utc_ns for track in tracks)
    for name, start, end in spans:
        parts = []
        if start < began - EDGE_NS:
            parts.append(f"begins {_length(began - start)} before the track")
        if end is not None and end > ended + EDGE_NS:
            parts.append(
                f"ends {_length(end - ended)} after it"
                if parts
                else f"ends {_length(end - ended)} after the track"
            )
        if parts:
            what = f"{name} {' and '.join(parts)}; what was said then has no place"
            issues.append(Issue("track_misses_sound", what))
    return tuple(issues)


def _meet(track: GivenTrack, span: _Span) -> bool:
    _, start, end = span
    return start <= track.ended_utc_ns + EDGE_NS and (end is None or end >= track.began_utc_ns - EDGE_NS)


def _told(spans: Sequence[_Span]) -> str:
    start = min(span[1] for span in spans)
    ends = [span[2] for span in spans if span[2] is not None]
    return f"from {format_utc(start)}" + (f" to {format_utc(max(ends))}" if ends else "")


def _length(nanoseconds: int) -> str:
    seconds = round(nanoseconds / _NANO)
    return f"{seconds} s" if seconds < 120 else f"{seconds // 60} min"
