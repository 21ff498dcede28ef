"""Whatever is missing or broken in track, sheet and notes, each section of place and weather tells figures or why there are none."""

from __future__ import annotations

import math
import time

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from simulated_drives import BEGAN_NS, NANO
from tracked_drives import START, seen_of, straight

from logger.core.results.air import air
from logger.core.results.altitude import altitude, profile_series
from logger.core.results.closure import closure
from logger.core.results.corrected import corrected
from logger.core.results.figures import Absent, Figure, Section
from logger.core.results.observed import Observed
from logger.core.results.road_load import road_load
from logger.core.results.steadiness import speed_series, steadiness
from logger.core.results.told import KNOWN
from logger.core.results.wind import wind
from logger.core.way import Way
from logger.model import Fix

KEYS = [f"{name}_{ending}" if ending else name for name, known in KNOWN.items() for ending in known.units]
odd = st.sampled_from([None, math.nan, math.inf, -math.inf, 0.0, 1e9, -430.0])
tests = st.dictionaries(
    st.sampled_from([*KEYS, "class"]),
    st.one_of(st.floats(), st.integers(-5, 5000), st.sampled_from(["small", "van", "", True])),
    max_size=14,
)
good = {"class": "medium", "wind_mps": 4, "wind_from_deg": 200, "temperature_degC": 15, "usable_kwh": 50}
ways = st.sampled_from([None, Way(None, 10.0), Way(2_000.0, 10.0), Way(70_000.0, 10.0)])


@st.composite
def tracks(draw: st.DrawFn) -> list[Fix]:
    """Fixes of a car that goes some way north, stands, leaps and loses its receiver."""
    fixes, when, north = [], BEGAN_NS, 0.0
    pace = draw(st.sampled_from([0.0, 3.0, 25.0, 40.0]))
    for _ in range(draw(st.integers(1, 5))):
        step_s = draw(st.sampled_from([0.1, 1.0, 5.0, 30.0, 5_000.0, 50_000.0]))
        altitude, speed = draw(st.one_of(odd, st.floats(-50.0, 900.0))), draw(st.one_of(odd, st.just(pace)))
        climbs = draw(st.sampled_from([0.0, 0.5]))
        for number in range(draw(st.integers(1, 120))):
            when += round(step_s * NANO)
            north += pace * min(step_s, 30.0)
            height = altitude if altitude is None else altitude + climbs * number
            fixes.append(
                Fix(
                    when,
                    min(START[0] + north / 111_200.0, 89.9),
                    START[1],
                    altitude_m=height,
                    speed_mps=speed,
                )
            )
        north += draw(st.sampled_from([0.0, 0.0, 900.0, 90_000.0]))
        pace = draw(st.sampled_from([pace, 0.0, 25.0]))
    return fixes


def sections(seen: Observed, range_km: float | None) -> list[Section]:
    """All of them."""
    told = [section(seen) for section in (steadiness, closure, altitude, air, wind, road_load)]
    profile_series(seen)
    speed_series(seen)
    return [*told, corrected(seen, range_km)]


@settings(max_examples=60, deadline=None)
@given(
    fixes=st.one_of(st.none(), tracks()),
    test=st.one_of(st.just(good), tests, tests.map(lambda more: {**good, **more})),
    notes=st.lists(
        st.tuples(st.floats(0, 1e5), st.sampled_from(["detour", "moving", "headwind", "rain"])), max_size=4
    ),
    way=ways,
    range_km=st.one_of(st.none(), st.floats()),
)
def test_no_section_raises_and_every_figure_is_finite(
    fixes: list[Fix] | None,
    test: dict[str, str | float | bool],
    notes: list[tuple[float, str]],
    way: Way | None,
    range_km: float | None,
) -> None:
    """A figure is a number within its interval; what is absent says why in a sentence."""
    seen = seen_of(fixes, test, notes=sorted(notes), way=way)
    for section in sections(seen, range_km):
        assert len({line.key for line in section.lines}) == len(section.lines)
        for line in section.lines:
            where = f"{section.key} {line.key} {line.answer}"
            if isinstance(line.answer, Absent):
                assert line.answer.why.endswith((".", "].")), where
                continue
            assert math.isfinite(line.answer.value), where
            if line.answer.low is not None and line.answer.high is not None:
                assert line.answer.low - 1e-9 <= line.answer.value <= line.answer.high + 1e-9, where
                assert line.answer.covers, where


def test_an_empty_drive_tells_why_of_everything() -> None:
    """No track, no sheet: seven sections, each line of them absent."""
    told = sections(seen_of(None), None)

    assert ["steadiness", "closure", "altitude", "air", "wind", "road_load", "corrected"] == [
        each.key for each in told
    ]
    assert all(isinstance(line.answer, Absent) for section in told for line in section.lines)


def test_five_hours_are_worked_out_at_once() -> None:
    """18,000 fixes over hills, with all there is to tell: all sections in 0.3 s of processor time."""
    driven = np.arange(0.0, 450_000.0, 25.0)
    rng = np.random.default_rng(1)
    fixes = straight(
        15.0, driven, lambda along: 200.0 + 60.0 * np.sin(along / 5e3) + rng.normal(0.0, 2.0, len(along))
    )
    seen = seen_of(fixes, good, way=Way(90_000.0, 10.0))
    assert seen.track is not None
    assert 18_000 == len(seen.track.utc_ns)

    begun = time.process_time()
    told = sections(seen, 400.0)
    assert 0.3 > time.process_time() - begun
    figures = [line.answer for section in told for line in section.lines if isinstance(line.answer, Figure)]
    assert 40 < len(figures)
