"""What the results of a stored drive start from. The drive is only read."""

from __future__ import annotations

from pathlib import Path

from logger.core.results.observed import Observed, observed
from logger.core.units import first_distances
from logger.store import DriveStore
from logger.wiring.log_table import track_of
from logger.wiring.sheets import sheet_from


def observed_of(folder: Path) -> Observed:
    """Return what the results of the drive in a folder start from.

    Raises:
        OdovoxError: there is no drive in the folder, it cannot be read, or its own sheet has a mistake.
    """
    with DriveStore.open(folder, readonly=True) as store:
        return observed_in(store)


def observed_in(store: DriveStore) -> Observed:
    """Return what the results of a drive start from.

    Raises:
        OdovoxError: it cannot be read, or its own sheet has a mistake.
    """
    drive = store.drive()
    sheet = sheet_from(drive.sheet_toml, f"the sheet of {store.folder}").sheet
    distances = first_distances(each.unit for each in sheet.phrasebook.quantities) or "km"
    return observed(
        drive, store.entries(), track_of(store), test=sheet.test, way=sheet.way, distances=distances
    )
