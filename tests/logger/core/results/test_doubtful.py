"""What unsettled entries may change, against working everything out again."""

from __future__ import annotations

import re
import time
from collections.abc import Sequence

import pytest
from read_drives import Said, charges, entry, seen, straight_track

from logger.core.results.basis import basis_of
from logger.core.results.doubtful import sentences
from logger.core.results.figures import Absent
from logger.core.results.observed import Observed
from logger.model import Entry, Status

DOWN = charges(4.0, range(100, -1, -2))


def doubt(km: float, quantity: str, value: str, *others: str, unit: str = "%") -> Entry:
    """An entry in doubt."""
    return entry(900, km, quantity, value, unit, status=Status.FLAGGED, alternatives=others)


def told(*doubts: Entry, rows: Sequence[Said] = DOWN, km: float = 420.0) -> tuple[str, ...]:
    """What is said of doubts."""
    return sentences(basis_of(seen(rows, track=straight_track(km), doubts=doubts)))


def reach(drive: Observed) -> float:
    """The range, reached or projected."""
    answer = basis_of(drive).reach()
    assert not isinstance(answer, Absent)
    return answer.value


def test_a_charge_on_the_way_changes_nothing_at_zero() -> None:
    """Where 0 % was reached, a doubt half way down does not touch it; what contradicts the rest is said to."""
    (sentence,) = told(doubt(150.0, "charge", "63", "53"))

    assert sentence.startswith("Entry 900-1, charge 63 % or 53 %: ")
    assert "stays as it is" in sentence
    assert "as 53 % it contradicts the charges around it" in sentence


def test_a_doubtful_zero() -> None:
    """A doubtful 0 % before the settled one moves the range by what working it out again says."""
    rows = [*DOWN[:-1], (410.0, "charge", "0", "%")]
    unsettled = doubt(397.0, "charge", "0", "1")
    (sentence,) = told(unsettled, rows=rows)
    found = re.search(r"at most ([\d.]+) km", sentence)
    changes = []
    for value in ("0", "1"):
        taken = seen([*rows, (397.0, "charge", value, "%")], track=straight_track(420.0))
        changes.append(abs(reach(taken) - reach(seen(rows, track=straight_track(420.0)))))

    assert found is not None
    assert pytest.approx(max(changes), abs=0.3) == float(found.group(1))
    assert max(changes) > 1.0


def test_a_doubtful_end_of_a_projection() -> None:
    """A doubtful last charge changes the projection by about what a full run with it says."""
    rows = DOWN[:30]
    km = DOWN[30][0]
    (sentence,) = told(doubt(km, "charge", "40", "38"), rows=rows, km=300.0)
    found = re.search(r"at most ([\d.]+) km", sentence)
    now = reach(seen(rows, track=straight_track(300.0)))
    changes = [
        abs(reach(seen([*rows, (km, "charge", value, "%")], track=straight_track(300.0))) - now)
        for value in ("40", "38")
    ]

    assert found is not None
    assert "the projected range changes" in sentence
    assert pytest.approx(max(changes), rel=0.5, abs=0.5) == float(found.group(1))


@pytest.mark.parametrize(
    ("unsettled", "words"),
    [
        (doubt(50.0, "outside_temperature", "44", "14", unit="degC"), "no main figure rests on it"),
        (doubt(50.0, "range_left", "300", "200", unit="km"), "how honest"),
        (doubt(50.0, "note", "headwind"), "says nothing of the figures"),
        (doubt(50.0, "unheard", ""), "a call without a meaning"),
        (doubt(50.0, "trip", "50", "15", unit="km"), "trip meter only"),
        (doubt(50.0, "efficiency", "3.5", "5.3", unit="mi/kWh"), "no settled one"),
    ],
)
def test_other_doubts(unsettled: Entry, words: str) -> None:
    """Each is named, with what rests on it."""
    (sentence,) = told(unsettled)

    assert sentence.startswith("Entry 900-1, ")
    assert words in sentence
    assert sentence.endswith(".")


def test_a_doubtful_trip() -> None:
    """The last trip reading in doubt: what it may change in the range by trip meter."""
    rows = [*DOWN, *((float(km), "trip", f"{km:.1f}", "km") for km in range(0, 390, 30))]
    (sentence,) = told(doubt(398.0, "trip", "399.5", "398.1", unit="km"), rows=rows)
    found = re.search(r"the range by trip meter changes by at most ([\d.]+) km", sentence)

    assert found is not None
    assert pytest.approx(1.5, abs=0.3) == float(found.group(1))


def test_a_doubtful_efficiency() -> None:
    """The last efficiency in doubt changes the figure by as much; an earlier one by nothing."""
    rows = [*DOWN, (300.0, "efficiency", "150", "Wh/km")]
    late, early = (
        doubt(390.0, "efficiency", "155", "115", unit="Wh/km"),
        doubt(200.0, "efficiency", "155", unit="Wh/km"),
    )

    assert "at most 35 Wh/km" in told(late, rows=rows)[0]
    assert "a later one was read" in told(early, rows=rows)[0]


def test_everything_in_doubt() -> None:
    """Where nothing is settled, settling may give a range."""
    unsettled = [doubt(km, "charge", value) for km, _, value, _ in DOWN]

    assert all("settling it may give one" in sentence for sentence in told(*unsettled, rows=[]))


def test_thirty_doubts_are_quick() -> None:
    """Thirty doubts with four suggestions each take less than a quarter of a second."""
    rows = DOWN[:40]
    unsettled = [doubt(4.0 * n + 1.0, "charge", str(99 - n), "13", "19", "90", "9") for n in range(30)]
    basis = basis_of(seen(rows, track=straight_track(420.0), doubts=unsettled))
    began = time.process_time()

    assert 30 == len(sentences(basis))
    assert time.process_time() - began < 0.25
