"""The main job: recorded sound and a track become a drive's log."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import ExitStack, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

from grammar import Language
from logger.errors import OdovoxError, StoreError
from logger.model import RATE_HZ, Drive, Issue, Source
from logger.store import DriveStore
from logger.wiring.choosing import Chosen
from logger.wiring.existing import existing_drive, sheet_of
from logger.wiring.planning import GivenSound, Plan, known_sounds, plan, told_name
from logger.wiring.reconciling import Summary, settle, summary_of
from logger.wiring.taking_in_sound import is_heard, samples_ns, take_in


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the sound of this run has been read; `total_s` is None where a file doesn't say how long it is."""

    name: str
    done_s: float
    total_s: float | None
    calls: int


class Listener(Protocol):
    """Hears what a person may want to know while the work goes on."""

    def remark(self, text: str) -> None:
        """One line on what is being done, and with what."""
        ...

    def odd(self, issue: Issue) -> None:
        """Something odd in what was taken in."""
        ...

    def progress(self, progress: Progress) -> None:
        """How far it has come; called about once for every second of sound."""
        ...


def ingest(
    folder: Path,
    sounds: Sequence[Path],
    tracks: Sequence[Path],
    *,
    started_utc_ns: Sequence[int],
    sheet_path: Path | None,
    choose: Callable[[Language], Chosen],
    listener: Listener,
) -> Summary:
    """Take sound and tracks into the drive in `folder`, made if need be, and reconcile the whole drive.

    Everything that can be checked is checked before anything is stored. Run again, it adds only what is not there.
    When it is stopped or a file turns out broken, what was taken in before is reconciled and kept.

    Raises:
        OdovoxError: a file, the sheet, the recogniser or the folder cannot be used.
    """
    with ExitStack() as stack:
        store = existing_drive(folder)
        if store is not None:
            stack.enter_context(store)
        sheet = sheet_of(store, sheet_path, "ingest into a new folder")
        began = store.drive().began_utc_ns if store is not None else None
        known = known_sounds(began, store.sources()) if store is not None and began is not None else ()
        planned = plan(sounds, tracks, started_utc_ns, began_utc_ns=began, known=known)
        chosen = choose(Language(sheet.sheet.phrasebook)) if sounds else None
        if store is None:
            drive = Drive(planned.began_utc_ns, sheet.text)
            store = stack.enter_context(DriveStore.open_or_create(folder, drive))
        _take_in_tracks(store, planned, listener)
        try:
            if chosen is not None:
                listener.remark(f"listening with {chosen.recogniser.name} ({chosen.why})")
                _take_in_sounds(store, planned, chosen, listener)
        except (OdovoxError, KeyboardInterrupt):
            with suppress(StoreError):
                settle(store)
            raise
        for issue in settle(store).issues:
            listener.odd(issue)
        if not store.fixes():
            listener.remark("there is no track yet, so nothing has a place; add one with --track")
        return summary_of(store)


def _take_in_tracks(store: DriveStore, planned: Plan, listener: Listener) -> None:
    for track in planned.tracks:
        name = told_name(track.path)
        with store.atomic():
            new = store.add_track_file(name, track.sha256, track.file.fixes)
            for issue in track.issues:
                store.add_issue(_storable(issue))
        if not new:
            listener.remark(f"{name} is in the drive already")
        for issue in track.issues if new else ():
            listener.odd(issue)
    for issue in planned.issues:
        store.add_issue(issue)
        listener.odd(issue)


def _storable(issue: Issue) -> Issue:
    """Return an issue whose message can be stored, whatever the name of the file it tells about."""
    return replace(issue, message=issue.message.encode("utf-8", "replace").decode("utf-8"))


def _take_in_sounds(store: DriveStore, planned: Plan, chosen: Chosen, listener: Listener) -> None:
    lengths = [sound.duration_s for sound in planned.sounds]
    total_s = sum(length or 0.0 for length in lengths) if None not in lengths else None
    done_s, calls = 0.0, 0
    end_ns = 0
    for sound in planned.sounds:
        source = _source(store, sound, planned.began_utc_ns, end_ns)
        if is_heard(store, source, chosen.recogniser.name):
            listener.remark(f"{told_name(sound.path)} is in the drive already")
        else:
            meter = _Meter(listener, Progress(told_name(sound.path), done_s, total_s, calls))
            source, issues = take_in(store, source, sound.path, chosen.recogniser, meter.report)
            calls = meter.calls
            for issue in issues:
                store.add_issue(_storable(issue))
                listener.odd(issue)
        length = source.sample_count or 0
        end_ns = source.start_ns + samples_ns(length)
        done_s += length / RATE_HZ


def _source(store: DriveStore, sound: GivenSound, began_utc_ns: int, end_ns: int) -> Source:
    start_ns = end_ns if sound.start_utc_ns is None else sound.start_utc_ns - began_utc_ns
    return store.add_source(told_name(sound.path), sound.sha256, start_ns)


class _Meter:
    """Turns what one file reports into progress over all of them."""

    def __init__(self, listener: Listener, before: Progress) -> None:
        self._listener = listener
        self._before = before
        self.calls = before.calls

    def report(self, samples: int, calls: int) -> None:
        """Take what one file reports."""
        self.calls = self._before.calls + calls
        self._listener.progress(
            replace(self._before, done_s=self._before.done_s + samples / RATE_HZ, calls=self.calls)
        )
