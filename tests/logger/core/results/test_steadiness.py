"""Speeds: means, spread, tolerances, stops and detours, each counted and cut out."""

from __future__ import annotations

import numpy as np
import pytest
from simulated_drives import Noise, constant
from simulated_drives import drive as simulated
from tracked_drives import seen_of, straight

from logger.core.results.figures import Absent, Figure
from logger.core.results.observed import Observed
from logger.core.results.steadiness import WAYS, speed_series, steadiness, tolerances_kmh


def drive(
    notes: list[tuple[float, str]] | None = None, test: dict[str, float] | None = None, **more: object
) -> Observed:
    """1000 s at 25 m/s, 100 s standing, 500 s at 15 m/s, 1000 s at 25 m/s."""
    speeds = np.concatenate((np.full(1000, 25.0), np.zeros(100), np.full(500, 15.0), np.full(1001, 25.0)))
    driven = np.concatenate(([0.0], np.cumsum((speeds[1:] + speeds[:-1]) / 2.0)))
    fixes = straight(15.0, driven, speeds_mps=speeds)
    return seen_of(fixes, {"target_gps_speed_kmh": 90} if test is None else test, notes=notes or (), **more)  # type: ignore[arg-type]


def value(seen: Observed, key: str) -> float:
    """The value, which there must be."""
    answer = steadiness(seen).answer(key)
    assert isinstance(answer, Figure)
    return answer.value


DETOUR = [(1095.0, "detour"), (1599.0, "moving")]


def test_counted_and_cut_out() -> None:
    """57.5 km in 2600 s; 2500 without the stop; 50 km in 2000 s without the detour."""
    seen = drive(DETOUR)

    assert pytest.approx(3.6 * 57_500 / 2600, rel=1e-3) == value(seen, "mean_overall")
    assert pytest.approx(3.6 * 57_500 / 2500, rel=2e-3) == value(seen, "mean_moving")
    assert pytest.approx(90.0, rel=2e-3) == value(seen, "mean_held")
    assert pytest.approx(0.0, abs=2.5) == value(seen, "speed_sd")
    assert 99.5 < value(seen, "within_first")
    assert 1.0 == value(seen, "stops") == value(seen, "detours")
    assert pytest.approx(100.0, abs=2.0) == value(seen, "stopped")
    (table,) = steadiness(seen).tables
    assert WAYS == table.column("counted")
    assert pytest.approx([2600, 2500, 2000], abs=6) == [float(each) for each in table.column("time")]  # type: ignore[arg-type]
    assert pytest.approx([2000 / 2600, 2000 / 2500, 1.0], abs=0.003) == [
        float(each) / 100
        for each in table.column("within_second")  # type: ignore[arg-type]
    ]


def test_a_detour_without_an_end_is_counted() -> None:
    """And said."""
    seen = drive([(1095.0, "detour by the mill")])

    assert pytest.approx(value(seen, "mean_moving")) == value(seen, "mean_held")
    assert 1.0 == value(seen, "detours")
    assert any("without its end" in remark for remark in steadiness(seen).remarks)


def test_without_a_target_the_median_is_it() -> None:
    """90 km/h, said so."""
    answer = steadiness(drive(test={})).answer("target")

    assert isinstance(answer, Figure)
    assert pytest.approx(90.0, abs=0.1) == answer.value
    assert "median" in answer.remark


@pytest.mark.parametrize(
    ("off_kmh", "first", "second"), [(1.5, 100, 100), (1.7, 0, 100), (3.15, 0, 100), (3.3, 0, 0)]
)
def test_miles_an_hour(off_kmh: float, first: float, second: float) -> None:
    """1 mph is 1.609344 km/h (NIST SP 811), 2 mph 3.218688."""
    mps = (100.0 + off_kmh) / 3.6
    fixes = straight(
        0.0, np.arange(0.0, 30_000.0, mps), speeds_mps=[mps] * len(np.arange(0.0, 30_000.0, mps))
    )
    seen = seen_of(fixes, {"target_gps_speed_kmh": 100}, distances="mi")

    assert (first, second) == (
        pytest.approx(value(seen, "within_first")),
        pytest.approx(value(seen, "within_second")),
    )
    assert "1 mph" in next(line.label for line in steadiness(seen).lines if line.key == "within_first")


def test_kilometres_an_hour() -> None:
    """2 km/h for a steady speed, 3.2 km/h of driving cycles (shared/check-values.md, section 2)."""
    assert (("2 km/h", 2.0), ("3.2 km/h", 3.2)) == tolerances_kmh(drive())


def test_a_gap_has_no_speed_of_its_own() -> None:
    """A minute without fixes counts for the mean, and not for how steady it was."""
    fixes = straight(0.0, np.arange(0.0, 40_000.0, 25.0))
    seen = seen_of(
        [fix for number, fix in enumerate(fixes) if not 500 < number < 560], {"target_gps_speed_kmh": 90}
    )

    assert pytest.approx(60.0) == value(seen, "unseen")
    assert pytest.approx(90.0, rel=1e-3) == value(seen, "mean_overall")


def test_without_the_receivers_speeds_noise_is_averaged() -> None:
    """25 m/s by positions with a receiver's noise: 95 % of the time within 2 km/h, by single fixes it would be under nine tenths."""
    fixes, _ = simulated(constant(25.0), 1_500.0, Noise(2.5, 60.0, 0.35))
    seen = seen_of(fixes, {"target_gps_speed_kmh": 90})
    assert seen.track is not None
    single = 3.6 * np.diff(seen.track.distance_m)

    assert 0.9 > float(np.mean(np.abs(single - 90.0) <= 2.0))
    assert 95.0 < value(seen, "within_first")
    assert any("gave no speeds" in remark for remark in steadiness(seen).remarks)


def test_seconds_at_each_speed() -> None:
    """In bins of 1 km/h: 2000 s at 90, 500 s at 54, 100 s standing."""
    series = speed_series(drive())
    seconds = dict(zip(series.lower_kmh.tolist(), series.seconds.tolist(), strict=True))

    assert pytest.approx(2600.0, abs=1.0) == sum(seconds.values())
    assert pytest.approx(2000.0, abs=6.0) == seconds[89.0] + seconds[90.0]
    assert pytest.approx(500.0, abs=6.0) == seconds[53.0] + seconds[54.0]
    assert pytest.approx(100.0, abs=3.0) == seconds[0.0]
    assert (1.0, 90.0) == (series.width_kmh, series.target_kmh)


def test_without_a_track_or_standing() -> None:
    """Each figure says why; there is no histogram."""
    for seen, why in ((seen_of(None), "no track"), (seen_of(straight(0.0, [0.0] * 30)), "did not move")):
        section = steadiness(seen)
        assert all(isinstance(line.answer, Absent) and why in line.answer.why for line in section.lines)
        assert () == section.tables
    assert 0 == len(speed_series(seen_of(None)).seconds)
