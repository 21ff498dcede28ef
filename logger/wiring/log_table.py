"""The log of a stored drive as a table."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from logger.core.rows import Evidence, PlaceAt, long_table, wide_table
from logger.core.table import Table
from logger.core.units import Distances
from logger.model import Place
from logger.store import DriveStore

if TYPE_CHECKING:
    from logger.core.track import Track


def log_table(
    folder: Path,
    *,
    wide: bool = False,
    everything: bool = False,
    distances: Distances | None = None,
) -> Table:
    """Return the log of the drive in a folder, which is only read.

    Args:
        folder: the drive folder.
        wide: one row per checkpoint in place of one per entry.
        everything: also rejected entries, and what each entry can be traced back to; not with `wide`.
        distances: miles or kilometres; None leaves the units as said.

    Raises:
        StoreError: there is no drive in the folder, or it cannot be read.
        ValueError: `wide` and `everything` together.
    """
    if wide and everything:
        raise ValueError("one row per checkpoint has no place for evidence")
    with DriveStore.open(folder, readonly=True) as store:
        drive, entries, place_at = store.drive(), store.entries(), places_of(store)
        evidence = _evidence(store) if everything else None
        decisions = store.decisions()
    if wide:
        return wide_table(entries, drive, place_at, distances=distances)
    return long_table(entries, drive, place_at, distances=distances, evidence=evidence, decisions=decisions)


def places_of(store: DriveStore) -> PlaceAt:
    """Return the function that says where the car was; without a track it knows no place."""
    return places_on(track_of(store))


def track_of(store: DriveStore) -> Track | None:
    """Return the track of a drive; None where it has no fix."""
    from logger.core.track import Track

    fixes = store.fixes()
    return Track.from_fixes(fixes)[0] if fixes else None


def places_on(track: Track | None) -> PlaceAt:
    """Return the function that says where the car was on a track; on none it knows no place."""
    return _nowhere if track is None else track.at


def _nowhere(_: int) -> Place | None:
    return None


def _evidence(store: DriveStore) -> Mapping[int, Evidence]:
    recognisers = {each.utterance_id: each.recogniser for each in store.latest_recognitions()}
    return {
        utterance.id: Evidence(
            utterance.clip if (store.folder / utterance.clip).is_file() else "",
            recognisers.get(utterance.id, ""),
        )
        for utterance in store.utterances()
    }
