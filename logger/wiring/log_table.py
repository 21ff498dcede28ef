"""The log of a stored drive as a table, and of several as one table or one data set."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from logger.core.rows import Evidence, PlaceAt, long_table, of_several, wide_table
from logger.core.table import Table
from logger.core.units import Distances
from logger.errors import OdovoxError
from logger.model import Place
from logger.store import DriveStore
from logger.tables.data_set import DataSet
from logger.wiring.several import made_of_each, names_of

if TYPE_CHECKING:
    from logger.core.track import Track


@dataclass(frozen=True, slots=True)
class Form:
    """What of a log is asked for, and how.

    Attributes:
        wide: one row per checkpoint in place of one per entry.
        everything: also rejected entries, and what each entry can be traced back to; not with `wide`.
        distances: miles or kilometres; None leaves the units as said.
        shared: with `wide`, the same columns for every drive; needs `distances`.
    """

    wide: bool = False
    everything: bool = False
    distances: Distances | None = None
    shared: bool = False


def log_table(folder: Path, form: Form = Form()) -> Table:
    """Return the log of the drive in a folder, which is only read.

    Raises:
        StoreError: there is no drive in the folder, or it cannot be read.
        ValueError: `wide` and `everything` together.
    """
    return _dated_table(folder, form)[1]


def log_tables(folders: Sequence[Path], form: Form, broken: Callable[[OdovoxError], None]) -> Table:
    """Return the logs of several drives as one table; one that cannot be read goes to `broken` and is left out.

    Raises:
        OdovoxError: none can be read.
    """
    names = dict(zip(folders, names_of(folders), strict=True))
    return of_several(made_of_each(folders, lambda folder: (names[folder], log_table(folder, form)), broken))


def put_into_data_set(
    folders: Sequence[Path], into: Path, form: Form, broken: Callable[[OdovoxError], None]
) -> None:
    """Put the logs of drives into the Parquet data set of a folder; one that cannot be read goes to `broken`.

    Raises:
        OdovoxError: none can be read.
        ExportError: the folder cannot be written, or holds logs of another form.
    """
    data_set = DataSet(into)
    for name, (began_utc_ns, table) in made_of_each(
        folders, lambda folder: (folder.resolve().name, _dated_table(folder, form)), broken
    ):
        data_set.put(name, began_utc_ns, table)


def _dated_table(folder: Path, form: Form) -> tuple[int, Table]:
    """Return when the drive in a folder began (nanoseconds of UTC), and its log."""
    if form.wide and form.everything:
        raise ValueError("one row per checkpoint has no place for evidence")
    with DriveStore.open(folder, readonly=True) as store:
        drive, entries, place_at = store.drive(), store.entries(), places_of(store)
        evidence = _evidence(store) if form.everything else None
        decisions = store.decisions()
    if form.wide:
        shared = form.shared
        return drive.began_utc_ns, wide_table(
            entries, drive, place_at, distances=form.distances, shared=shared
        )
    return drive.began_utc_ns, long_table(
        entries, drive, place_at, distances=form.distances, evidence=evidence, decisions=decisions
    )


def places_of(store: DriveStore) -> PlaceAt:
    """Return the function that says where the car was; without a track it knows no place."""
    return places_on(track_of(store))


def track_of(store: DriveStore) -> Track | None:
    """Return the track of a drive; None where it has no fix."""
    from logger.core.track import Track

    fixes = store.fix_columns()
    return Track.from_columns(fixes)[0] if len(fixes) else None


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
