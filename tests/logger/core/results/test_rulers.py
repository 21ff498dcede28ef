"""Trip meter and odometer beside GPS. Outside: NIST StRD Norris read as a meter over GPS, certified slope."""

from __future__ import annotations

import importlib.resources

import pytest
from read_drives import seen, straight_track

from logger.core.results.figures import Absent
from logger.core.results.observed import Observed, Reading
from logger.core.results.rulers import factor_of, gps_km_at, meter_of, shown_at
from logger.core.results.spread import Interval
from logger.core.results.stretch import stretch_of


def trips(*said: tuple[float, str], notes: tuple[tuple[float, str], ...] = (), gps: bool = True) -> Observed:
    """A drive of 200 km on which the trip meter was read off."""
    rows = [(km, "trip", value, "km") for km, value in said]
    return seen(
        [*rows, *((km, "note", text) for km, text in notes)], track=straight_track(200.0) if gps else None
    )


def test_the_factor() -> None:
    """A meter that counts 2 % too much has the factor 1.02, and its interval holds that."""
    drive = trips(*((float(km), f"{km * 1.02:.1f}") for km in range(10, 200, 10)))
    factor = meter_of(drive, stretch_of(drive), "trip").factor

    assert isinstance(factor, Interval)
    assert factor.low < 1.02 < factor.high
    assert factor.high - factor.low < 0.002


def test_the_slope_is_nists() -> None:
    """NIST StRD Norris, certified: slope 1.00211681802045; read as kilometres of a meter over kilometres of GPS."""
    text = (
        importlib.resources.files("scipy.stats").joinpath("tests/data/nist_linregress/Norris.dat").read_text()
    )
    rows = [[float(cell) for cell in line.split()] for line in text.splitlines()[60:96]]
    piece = [Reading(str(n), 0.0, y, 0.1, x, None, "km") for n, (y, x) in enumerate(rows)]  # type: ignore[arg-type]
    factor = factor_of([piece], "trip")

    assert isinstance(factor, Interval)
    assert pytest.approx(1.00211681802045, rel=1e-12) == factor.value
    # 2.0322 standard deviations of 4.29796848199937E-04 (scipy's t, 34 degrees), and a little for the receiver.
    assert factor.high - factor.value == pytest.approx(2.0322445 * 0.429796848199937e-03, rel=0.02)


def test_a_reset_cuts() -> None:
    """A trip that falls, or a noted reset, begins a new piece; both pieces have one factor."""
    drive = trips(
        (10.0, "10.1"), (40.0, "40.4"), (90.0, "90.9"), (110.0, "10.1"), (150.0, "50.5"), (190.0, "90.9")
    )
    meter = meter_of(drive, stretch_of(drive), "trip")
    noted = trips((10.0, "10.0"), (90.0, "90.0"), (195.0, "92.0"), notes=((103.0, "trip reset"),))

    assert [3, 3] == [len(piece) for piece in meter.pieces]
    assert isinstance(meter.factor, Interval)
    assert pytest.approx(1.01, abs=1e-3) == meter.factor.value
    assert [2, 1] == [len(piece) for piece in meter_of(noted, stretch_of(noted), "trip").pieces]


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ((), "fewer than three"),
        (((10.0, "10"), (20.0, "20")), "fewer than three"),
        (((10.0, "10.0"), (10.1, "10.1"), (10.2, "10.2")), "too close"),
        (((10.0, "10.0"), (90.0, "10.0"), (180.0, "10.0")), "do not rise"),
    ],
)
def test_no_factor(said: tuple[tuple[float, str], ...], why: str) -> None:
    """Too few readings, too close, or a meter that stands: there is no factor, and it says why."""
    drive = trips(*said)
    factor = meter_of(drive, stretch_of(drive), "trip").factor

    assert isinstance(factor, Absent)
    assert why in factor.why


def test_between_readings() -> None:
    """Between two readings a meter goes on as GPS does, times its factor; without GPS evenly in time."""
    said = ((0.0, "0.0"), (100.0, "102.0"), (180.0, "183.6"))
    with_gps, without = trips(*said), trips(*said, gps=False)
    at_s = 50.0 * 36.0
    by_gps = shown_at(with_gps, meter_of(with_gps, stretch_of(with_gps), "trip"), at_s)
    by_time = shown_at(without, meter_of(without, stretch_of(without), "trip"), 0.25 * 36.0)

    assert by_gps is not None
    assert pytest.approx(51.0, abs=0.1) == by_gps.value
    assert by_time is not None
    assert pytest.approx(0.0, abs=0.3) == by_time.value


def test_where_nobody_measured() -> None:
    """Before, after and without a track there is no GPS distance."""
    assert gps_km_at(seen([]), 10.0) is None
    assert gps_km_at(seen([], track=straight_track(10.0)), 1e6) is None
    assert gps_km_at(seen([], track=straight_track(10.0)), float("inf")) is None
