"""Stored drives as they go on a map. They are only read."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from logger.core.chart import Chart
from logger.core.rows import wide_table
from logger.core.units import Distances
from logger.errors import ExportError, OdovoxError
from logger.store import DriveStore
from logger.wiring.log_table import places_on, track_of
from logger.wiring.several import made_of_each, names_of


def charts_of(
    folders: Sequence[Path], broken: Callable[[OdovoxError], None], *, distances: Distances | None = None
) -> Iterator[Chart]:
    """Yield drives as they go on a map; one of several that cannot be read, or has no track, goes to `broken`.

    Raises:
        OdovoxError: the only drive, or none of several, can be drawn.
    """
    names = dict(zip(folders, names_of(folders), strict=True))
    return made_of_each(folders, lambda folder: _chart_of(folder, names[folder], distances), broken)


def _chart_of(folder: Path, name: str, distances: Distances | None) -> Chart:
    with DriveStore.open(folder, readonly=True) as store:
        drive, entries, track = store.drive(), store.entries(), track_of(store)
    if track is None:
        raise ExportError(
            f"{folder} has no track, so there is nothing to draw; add one with `odovox ingest --track`"
        )
    checkpoints = wide_table(entries, drive, places_on(track), distances=distances)
    return Chart(name, drive.began_utc_ns, track, checkpoints)
