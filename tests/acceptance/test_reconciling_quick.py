"""Real lists of real recognisers, reconciled: the few rehearsed drives that the repository keeps."""

from __future__ import annotations

import pytest
from rehearsed.comparing import ODOVOX, compared
from rehearsed.quick import QUICK
from rehearsed.records import load
from rehearsed.tallying import Tally


@pytest.fixture(scope="module")
def tallies() -> dict[str, Tally]:
    """What came of the drives, by exception; "" for the ordinary ones."""
    found: dict[str, Tally] = {}
    for drive in load(QUICK):
        tally = compared(drive, (ODOVOX,))[ODOVOX]
        found[drive.exception] = found.get(drive.exception, Tally()) + tally
    return found


def test_ordinary_drives_are_taken_down_without_an_error(tallies: dict[str, Tally]) -> None:
    """Nearly all of what was said is accepted, some of it other than it was first heard, and none of it is wrong."""
    tally = tallies[""]
    assert tally.silent == 0
    assert tally.accepted - tally.accepted_of_nothing >= 0.9 * tally.said
    assert tally.repaired > 0
    assert tally.missing == 0


def test_no_true_surprise_is_replaced(tallies: dict[str, Tally]) -> None:
    """What breaks the course of a drive is asked about, or kept as it was said."""
    exceptions = {name: tally for name, tally in tallies.items() if name}
    assert sum(tally.surprises for tally in exceptions.values()) >= 30
    assert {name: tally.surprises_replaced for name, tally in exceptions.items()} == dict.fromkeys(
        exceptions, 0
    )
