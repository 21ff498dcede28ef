"""A drive folder as an earlier run left it: a way driven north to where a moving receiver begins, and charges called out on it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from called_drives import answers, in_words
from gps_receiver import LAT_DEG, LON_DEG, METRES_A_MINUTE, SPEED_MPS, Receiver

from logger.model import RATE_HZ, Drive, Fix, Recognition
from logger.store import DriveStore
from logger.wiring.reconciling import settle

_NANO = 1_000_000_000


def leave_drive(
    folder: Path, receiver: Receiver, driven_m: float, charges: Mapping[float, int], sheet: str
) -> None:
    """Make the folder.

    Args:
        folder: where.
        receiver: the way ends where and when it began to move.
        driven_m: how long the way is.
        charges: percents, by how far the car had come.
        sheet: the drive's sheet.
    """
    seconds = round(driven_m / SPEED_MPS)
    began_ns = round(receiver.began.timestamp() * _NANO) - seconds * _NANO
    with DriveStore.create(folder, Drive(began_ns, sheet)) as store:
        fixes = [
            Fix(
                began_ns + at_s * _NANO,
                LAT_DEG - (seconds - at_s) * SPEED_MPS / METRES_A_MINUTE / 60.0,
                LON_DEG,
                11.5,
                SPEED_MPS,
            )
            for at_s in range(seconds)
        ]
        store.add_track_file("earlier", "earlier", fixes)
        source = store.add_source("earlier", "earlier", 0)
        for number, (at_m, percent) in enumerate(charges.items(), start=1):
            at_ns = round(at_m / SPEED_MPS * _NANO)
            utterance = store.add_utterance(source.id, number, 3 * RATE_HZ, at_ns, f"clips/{number}.flac")
            heard = answers(f"checkpoint {in_words(str(percent))} percent")
            store.add_recognition(Recognition(utterance.id, "typed", heard))
        store.finish_source(source.id, 3 * RATE_HZ)
        settle(store)
