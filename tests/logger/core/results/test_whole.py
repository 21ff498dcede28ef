"""All results together: of rehearsed drives, and of drives in which something is missing."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from driven_out import TUNING, driven_out, without
from held_truths import THUMB, TOLD, Tally, tallied, wilson
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from read_drives import BEGAN_NS, entry, straight_track
from scipy import stats

from logger.core.results.basis import basis_of
from logger.core.results.figures import YES_NO, Absent, Answer, Figure
from logger.core.results.observed import BASE_UNITS, Observed, observed
from logger.core.results.whole import Results, sections_of, work_out
from logger.core.way import Way
from logger.model import Drive, Status


def nothing() -> Observed:
    """A drive of which nothing is known."""
    return observed(Drive(0, ""), [], None, test={}, way=None, distances="km")


def test_a_drive_to_empty() -> None:
    """The range by GPS and by trip meter, and the efficiency, are what the car truly did."""
    drive = driven_out(20_000)
    results = work_out(drive.seen)
    by_gps = results.section("range").answer("zero_by_gps")
    by_usable = results.section("energy").answer("by_usable")

    assert isinstance(by_gps, Figure)
    assert by_gps.value == pytest.approx(drive.truth.zero_km, rel=0.01)
    assert isinstance(by_usable, Figure)
    assert by_usable.value == pytest.approx(drive.truth.wh_per_km, rel=0.01)
    assert results.series.reached_km == by_gps.value


def test_nothing_known() -> None:
    """Each figure says why there is none."""
    results = work_out(nothing())

    for section in (results.answer, *results.sections):
        for line in section.lines:
            assert isinstance(line.answer, Absent), line
            assert line.answer.why.endswith(".")
    assert len(results.cautions) >= 4


def test_sections_by_key() -> None:
    """Sections are found by key, and their keys and those of their lines are unique."""
    results = work_out(nothing())
    keys = [section.key for section in results.sections]

    assert len(keys) == len(set(keys))
    for section in results.sections:
        assert section is results.section(section.key)
        lines = [line.key for line in section.lines]
        assert len(lines) == len(set(lines))
    with pytest.raises(KeyError):
        results.section("no such")


def test_some_sections() -> None:
    """Each asked for by itself is the one of all results, and nothing else is made."""
    seen = driven_out(20_000).seen
    for whole in work_out(seen).sections:
        (one,) = sections_of(basis_of(seen), {whole.key})
        assert whole == one


def test_it_is_quick() -> None:
    """A drive of hours takes far less than a third of a second."""
    seen = driven_out(20_001).seen
    work_out(seen)
    began = time.process_time()
    work_out(seen)

    assert time.process_time() - began < 0.3


@pytest.fixture(scope="module")
def tallies() -> dict[str, Tally]:
    """What sixty TUNING drives come to; `make bench-results` does six hundred others."""
    return tallied(TUNING[:60])


@pytest.mark.parametrize("name", list(TOLD))
def test_intervals_hold_the_truth(tallies: dict[str, Tally], name: str) -> None:
    """Of sixty drives, the intervals of each figure hold the truth in 85 % at least, and are not so wide that they say nothing."""
    tally = tallies[name]

    assert tally.drives >= 55
    assert tally.share >= 0.85
    assert tally.halves / tally.drives < {"range projected at three quarters": 0.2}.get(name, 0.06)


def test_the_projection_is_better_than_the_rule_of_thumb(tallies: dict[str, Tally]) -> None:
    """At half of the charge its mean square error is smaller."""
    ours, thumb = tallies["range projected at half"], tallies[THUMB]

    assert ours.squares / ours.drives < thumb.squares / thumb.drives


def test_shares_have_wilsons_interval() -> None:
    """The interval of a share is scipy's by Wilson's method."""
    expected = stats.binomtest(57, 60).proportion_ci(method="wilson")

    assert (pytest.approx(expected.low), pytest.approx(expected.high)) == wilson(57, 60)


def told(results: Results) -> Iterator[Answer]:
    """Every answer of a drive."""
    for section in (results.answer, *results.sections):
        yield from (line.answer for line in section.lines)


@pytest.mark.parametrize("missing", [*BASE_UNITS, "all but charge"])
def test_any_quantity_may_be_missing(missing: str) -> None:
    """Without one quantity, or with charge alone, all else is worked out."""
    seen = driven_out(20_002).seen
    names = [name for name in seen.readings if name != "charge"] if missing == "all but charge" else [missing]
    for track in (seen.track, None):
        for answer in told(work_out(replace(without(seen, *names), track=track))):
            assert isinstance(answer, Absent) or math.isfinite(answer.value)


VALUES = st.decimals(min_value=-10, max_value=120, places=1, allow_nan=False)
READINGS = st.lists(
    st.tuples(
        st.floats(0.0, 130.0),
        st.sampled_from([*BASE_UNITS, "note"]),
        VALUES,
        st.sampled_from(["%", "km", "mi", "Wh/km", "mi/kWh", "kWh", "degC", "km/h"]),
        st.booleans(),
    ),
    max_size=25,
)
NOTES = ("charging", "unplugged", "trip reset", "turning round", "loop complete", "headwind")


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    said=READINGS,
    with_track=st.booleans(),
    broken=st.booleans(),
    test=st.dictionaries(
        st.sampled_from(["usable_kwh", "rated_range_km", "target_gps_speed_kmh", "odometer_km"]),
        st.one_of(st.floats(), st.text(max_size=3), st.booleans()),
    ),
    way=st.sampled_from([None, Way(30_000.0, 10.0), Way(None, 20.0)]),
)
def test_whatever_is_said_never_raises(
    said: list[tuple[float, str, Decimal, str, bool]],
    with_track: bool,  # noqa: FBT001
    broken: bool,  # noqa: FBT001
    test: dict[str, str | float | bool],
    way: Way | None,
) -> None:
    """Contradictory readings, in any order, in any unit, settled or not, with a track, without, or with one that is no number."""
    rows = []
    for number, (km, quantity, value, unit, doubtful) in enumerate(said, start=1):
        text = NOTES[number % len(NOTES)] if quantity == "note" else str(value)
        status = Status.FLAGGED if doubtful else Status.ACCEPTED
        rows.append(entry(number, km, quantity, text, unit, status=status, alternatives=["0", "50"]))
    track = straight_track(100.0) if with_track else None
    if broken and track is not None:
        nothing_known = np.full(len(track.utc_ns), np.nan)
        track = replace(track, distance_m=nothing_known, speed_mps=nothing_known)
    results = work_out(observed(Drive(BEGAN_NS, ""), rows, track, test=test, way=way, distances="mi"))

    for answer in told(results):
        if isinstance(answer, Absent):
            assert answer.why.endswith(".")
        else:
            assert math.isfinite(answer.value)
            by_place = {"m", "m/s", "degC", "hPa", "kg/m3"}
            assert answer.unit in {"km", "km/h", "Wh/km", "kWh", "%", "s", "", YES_NO, *by_place}
            if answer.low is not None:
                assert answer.high is not None
                assert math.isfinite(answer.low)
                assert math.isfinite(answer.high)
                assert answer.low <= answer.value <= answer.high
                assert answer.covers
    assert len(results.doubts) >= sum(each.status is Status.FLAGGED for each in rows)


def test_place_and_weather_follow_readings_and_distance() -> None:
    """Of a drive with a track and a car's class, all sections are there; the range corrected is that of the range's section."""
    seen = driven_out(20_000).seen
    results = work_out(replace(seen, test={**seen.test, "class": "medium", "usable_kwh": 60}))

    told = ["steadiness", "closure", "altitude", "air", "wind", "road_load", "corrected"]
    assert told == [section.key for section in results.sections][-7:]
    full, fewer = results.section("range").answer("from_full"), results.section("corrected")
    assert isinstance(full, Figure)
    consumption, ratio = fewer.answer("consumption"), fewer.answer("corrected_range")
    assert isinstance(consumption, Figure)
    assert isinstance(ratio, Figure)
    assert consumption.value == pytest.approx(60_000.0 / full.value)
    assert "nor the range" not in ratio.covers
    assert float(results.series.speed.seconds.sum()) > 3_600.0


def test_a_drive_of_four_hundred_entries_is_quick() -> None:
    """Five hours with a fix a second and a charge every 45 s."""
    rows = [entry(number, number * 1.0, "charge", str(100 - number // 4), "%") for number in range(400)]
    seen = observed(
        Drive(BEGAN_NS, ""), rows, straight_track(500.0), test={"usable_kwh": 60}, way=None, distances="km"
    )
    assert len(seen.of("charge")) == 400
    work_out(seen)
    began = time.process_time()
    results = work_out(seen)

    assert time.process_time() - began < 0.3
    assert len(results.section("projection").tables[0].rows) == 399
