"""What of a drive is compared, against what the simulated drive truly was."""

from __future__ import annotations

import pytest
from many_drives import SEEDS, make_drive
from rehearsed.car import outing_of

from logger.core.comparing.summary import FIGURES, Summary, conditions_of, summary_of
from logger.core.results.figures import Figure
from logger.core.results.observed import Observed
from logger.core.results.whole import work_out
from logger.model import Drive
from logger.store import DriveStore
from logger.wiring.reporting import observed_in

SEED = SEEDS[4]


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> Observed:
    """A drive with a fix each ten seconds, its tyres on the sheet."""
    folder = make_drive(
        tmp_path_factory.mktemp("drives") / "drive", SEED, every_s=10, only=120,
        test='class = "medium"\ntyres = "summer"\ntyre_pressure_bar = 2.9\n',
    )  # fmt: skip
    with DriveStore.open(folder, readonly=True) as store:
        return observed_in(store)


@pytest.fixture(scope="module")
def summary(seen: Observed) -> Summary:
    """What of it is compared."""
    return summary_of(seen)


def test_conditions_are_those_of_the_simulation(summary: Summary) -> None:
    """Speed, distance, weather and charge, as the simulated car had them."""
    here, outing = summary.conditions, outing_of(SEED)

    assert pytest.approx(outing.conditions.speed_mps * 3.6, rel=0.005) == here.speed_kmh
    assert pytest.approx(float(outing.distance_m[-1]) / 1000.0, rel=0.005) == here.driven_km
    assert pytest.approx(outing.conditions.wind_mps * 3.6, abs=0.2) == here.wind_kmh
    assert pytest.approx(float(outing.outside_c.mean()), abs=1.5) == here.temperature_c
    assert pytest.approx(outing.car.usable_kwh, abs=0.05) == here.usable_kwh
    assert 100.0 == here.start_pct
    assert ("", 0, "tyre_pressure_bar 2.9, tyres summer") == (here.charged, here.doubts, here.tyres)


def test_the_ends_are_apart_as_simulated(summary: Summary) -> None:
    """The chord of the loop's circle between where the drive began and where it ended."""
    import math

    outing = outing_of(SEED)
    radius_km = outing.conditions.lap_m / 2000.0 / math.pi
    angle = 2 * math.pi * float(outing.distance_m[-1]) / outing.conditions.lap_m

    assert pytest.approx(2 * radius_km * abs(math.sin(angle / 2)), rel=0.01) == summary.conditions.apart_km


def test_figures_are_those_of_the_results(seen: Observed, summary: Summary) -> None:
    """Each key is there once, in order; where the results know a figure it is theirs, in the unit promised."""
    assert [each.key for each in FIGURES] == [line.key for line in summary.figures]
    known = {line.key: line.answer for line in summary.figures if isinstance(line.answer, Figure)}
    assert {each.key: each.unit for each in FIGURES if each.key in known} == {
        key: each.unit for key, each in known.items()
    }
    whole = work_out(seen)
    for each in FIGURES:
        told = [whole.section(section).answer(key) for section, key in each.found]
        assert known.get(each.key) == next((answer for answer in told if isinstance(answer, Figure)), None)
    assert {"range_projected", "consumption", "mean_speed", "corrected_range"} <= known.keys()
    assert tuple(whole.series.charge.charge_pct[[0, -1]]) == (
        summary.charge.values[0],
        summary.charge.values[-1],
    )


def test_courses_are_thin_and_whole(summary: Summary) -> None:
    """At most some hundred points, from the first reading to the last, none missing."""
    assert 30 < len(summary.charge.km) <= 150
    assert len(summary.charge.km) == len(summary.charge.values)
    assert summary.charge.values[0] > 95.0
    assert summary.charge.values[-1] < 10.0


def test_a_drive_with_nothing_in_it() -> None:
    """No readings, no track, no sheet: nothing is known, and nothing fails."""
    empty = Observed(Drive(0, ""), {}, (), (), None, {}, None, "km")
    here = conditions_of(empty, "")

    assert (None, None, None, None, "", None, 0) == (
        here.temperature_c, here.speed_kmh, here.start_pct, here.apart_km, here.charged, here.tyres, here.doubts,
    )  # fmt: skip
    assert all(not isinstance(line.answer, Figure) for line in summary_of(empty).figures)
