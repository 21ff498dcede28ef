"""How much likelier a drive makes a value than one out of the blue: densities that add up, and life's exceptions."""

from __future__ import annotations

import math
import statistics

import numpy as np
import pytest
from strands_made import strand

from logger.core.plausible.courses import ASSUMED, Course
from logger.core.plausible.odds import ANOTHER_CAR, ANYTHING, alone_odds, log_normal, step_odds
from logger.core.plausible.strand import Strand, steps_of

CHARGE = Course(span=101.0, slope=-0.3, slope_sd=0.01, wander=0.01, jitter=0.15)
TRIP = Course(span=600.0, slope=1.01, slope_sd=0.002, wander=2e-4, jitter=0.04)


def last_step(made: Strand, course: Course) -> tuple[float, float]:
    """Log odds of the step to the last reading from the one before it: usual, surprise."""
    odds = step_odds(made.quantity, steps_of(made), course)
    return float(odds.usual[-1, 0, 0, 0]), float(odds.surprise[-1, 0, 0, 0])


@pytest.mark.parametrize("off", [0.0, 0.3, -2.0])
def test_the_normal_density(off: float) -> None:
    """As Python's statistics module has it."""
    expected = math.log(statistics.NormalDist(0.0, 0.7).pdf(off))

    assert pytest.approx(expected) == float(log_normal(np.array(off), np.array(0.49)))


@pytest.mark.parametrize("quantity", ["charge", "trip", "range_left", "energy_used", "outside_temperature"])
def test_the_odds_of_all_values_add_up_to_the_span(quantity: str) -> None:
    """A density over that of a value out of the blue: integrated over all values it gives the span, whatever came before."""
    course = ASSUMED[quantity]
    before, along = course.span / 2.0, 0.05 if course.by_time else 5.0
    sd = float(course.variance(along, 2.0 * 0.05**2 / 3.0)) ** 0.5 * course.tail_sds
    middle = before + course.slope * along
    grid = np.linspace(middle - 6.0 * sd, middle + 6.0 * sd, 401)
    made = strand(quantity, [[before] + [np.nan] * 400, list(grid)], half_step=0.05)
    usual = step_odds(quantity, steps_of(made), course).usual[1, 0, 0, :]

    assert pytest.approx(course.span, rel=0.01) == float(np.trapezoid(np.exp(usual), grid))


def test_what_a_car_uses() -> None:
    """5 km use 1.5 %: 78 and 79 after 80 are likely, 80 hardly, 70 not at all."""
    odds = {value: last_step(strand("charge", [80, value]), CHARGE)[0] for value in (80, 79, 78, 70)}

    assert min(odds[78], odds[79]) > math.log(20.0)
    assert odds[80] < odds[79] - 3.0
    assert odds[70] < -10.0


@pytest.mark.parametrize("rise", [1, 2])
def test_a_descent_is_a_surprise(rise: int) -> None:
    """Up by one or two: likelier than anything else out of the blue, and no usual step."""
    usual, surprise = last_step(strand("charge", [60, 60 + rise]), CHARGE)

    assert surprise > usual
    assert surprise > math.log(ANYTHING) + 3.0


def test_charging() -> None:
    """Up by forty: a surprise without a note, and usual with one or where the car still stood at the charger."""
    usual, surprise = last_step(strand("charge", [30, 70]), CHARGE)
    assert usual < surprise
    noted, _ = last_step(strand("charge", [30, 70], charged=[0, 1]), CHARGE)
    standing, _ = last_step(strand("charge", [30, 70], at_charger=[True, False]), CHARGE)

    assert noted == standing == pytest.approx(math.log(101.0 / 71.0), abs=0.01)


def test_a_night() -> None:
    """Nine hours at rest lose a percent or three, which is no surprise; twenty are."""
    rested, _ = last_step(strand("charge", [60, 58], km=[9.0, 9.0], at_h=[0.0, 9.0]), CHARGE)
    emptied, surprise = last_step(strand("charge", [60, 40], km=[9.0, 9.0], at_h=[0.0, 9.0]), CHARGE)

    assert rested > 1.0
    assert emptied < surprise


def test_a_trip_goes_with_gps() -> None:
    """5.05 km by the meter's own scale: 105.1 after 100.0 is likely, a digit off is not."""
    right, _ = last_step(strand("trip", [100.0, 105.1], half_step=0.05), TRIP)
    off, surprise = last_step(strand("trip", [100.0, 105.7], half_step=0.05), TRIP)

    assert right > math.log(1000.0)
    assert off < math.log(0.2)
    assert surprise == pytest.approx(math.log(ANYTHING), abs=1e-6)


def test_a_trip_reset() -> None:
    """Unnoted it is a surprise that is likelier than anything; noted, the trip is the way since."""
    usual, surprise = last_step(strand("trip", [100.0, 2.0], half_step=0.05), TRIP)
    assert usual < math.log(ANYTHING) < surprise - 2.0
    noted = strand("trip", [100.0, 2.0], half_step=0.05, resets=[0, 1], reset_km=[np.nan, 3.0])

    assert last_step(noted, TRIP)[0] > math.log(50.0)


def test_while_nobody_looked() -> None:
    """A gap of six minutes: standing, driving on as usual, and at the limit are all possible, 60 km are not."""

    def odds(km: float) -> float:
        made = strand(
            "trip", [100.0, 100.0 + km], half_step=0.05, km=[0.0, 9.0], at_h=[0.0, 0.1], unseen_h=[0.0, 0.1]
        )
        return last_step(made, TRIP)[0]

    assert min(odds(0.0), odds(9.0)) > odds(12.9) > 0.0
    assert odds(60.0) < -10.0


@pytest.mark.parametrize("quantity", ["range_left", "energy_used", "efficiency"])
def test_what_charging_sets_anew(quantity: str) -> None:
    """After charging was noted, or for some a trip reset, nothing is expected."""
    usual, _ = last_step(strand(quantity, [90.0, 3.0], charged=[0, 1]), ASSUMED[quantity])

    assert usual == 0.0


def test_no_step_leads_to_what_is_not_there() -> None:
    """Options that a reading lacks, and steps before the first reading."""
    odds = step_odds("charge", steps_of(strand("charge", [80, [79, 78]])), CHARGE)

    assert np.all(np.isneginf(odds.usual[0]))
    assert np.isneginf(odds.usual[1, 0, 1, 0])


def test_a_speedometer_reads_a_little_more_than_gps() -> None:
    """By itself a value near the GPS speed is likely, one far off is a surprise; without GPS nothing is known."""
    course = ASSUMED["indicated_speed"]
    made = strand("indicated_speed", [[102.0, 162.0], [102.0, 162.0]], gps_kmh=[100.0, np.nan])
    odds = alone_odds(made, course, clock_ahead_min=None)

    assert odds[0, 0] > math.log(20.0)
    assert pytest.approx(math.log(ANYTHING), abs=0.01) == odds[0, 1]
    assert [0.0, 0.0] == odds[1].tolist()


def test_without_gps_a_speed_goes_with_the_pace_of_the_trip() -> None:
    """16 for 60 is found out; what the pace allows stays open."""
    course = ASSUMED["indicated_speed"]
    made = strand("indicated_speed", [[97.0, 108.0, 26.0]], gps_kmh=[np.nan], pace_kmh=[96.0])
    odds = alone_odds(made, course, clock_ahead_min=None)[0]

    assert odds[0] > odds[1] > 0.0
    assert odds[2] < odds[0] - 4.0


def test_another_cars_odometer() -> None:
    """The driver read the wrong note: likelier than a value out of the blue elsewhere, for any value."""
    _, surprise = last_step(strand("odometer", [54_000.0, 107_000.0]), ASSUMED["odometer"])

    assert surprise == pytest.approx(math.log(ANOTHER_CAR))


def test_without_gps_a_speed_goes_with_the_one_before() -> None:
    """The step takes over; with GPS at both ends it says nothing, for that has been said."""
    course = ASSUMED["indicated_speed"]
    blind = strand("indicated_speed", [102.0, 103.0], gps_kmh=[np.nan, np.nan])
    seen = strand("indicated_speed", [102.0, 103.0])

    assert last_step(blind, course)[0] > math.log(10.0)
    assert last_step(seen, course)[0] == 0.0


def test_a_clock_goes_with_gps_time() -> None:
    """Within a minute and a half of what the drive's clock is ahead; midnight is no gap."""
    made = strand("clock", [[421.0, 481.0]], ahead_min=[[1439.5, 60.0]])
    odds = alone_odds(made, ASSUMED["clock"], clock_ahead_min=0.0)

    assert odds[0, 0] == pytest.approx(math.log(480.0))
    assert odds[0, 1] < -4.0
    assert [0.0, 0.0] == alone_odds(made, ASSUMED["clock"], clock_ahead_min=None)[0].tolist()


def test_a_display_has_its_decimals() -> None:
    """Where nine of ten efficiencies are told with one decimal, one without is less likely: by (1 + 1/2) / (9 + 1/2)."""
    made = strand("efficiency", [4.0] * 10, half_step=0.05)
    places = np.ones((10, 1))
    places[4] = 0.0
    changed = Strand(**{**{name: getattr(made, name) for name in made.__slots__}, "places": places})
    odds = alone_odds(changed, ASSUMED["efficiency"], clock_ahead_min=None)

    assert odds[4, 0] - odds[5, 0] == pytest.approx(math.log(1.5 / 9.5))


def test_what_cars_use_at_all() -> None:
    """17 kWh per 100 km, 5.9 km a kWh, is far likelier than 70: ratio of the normal densities, by Python's statistics."""
    made = strand("efficiency", [[100.0 / 17.0, 100.0 / 70.0]], half_step=0.01)
    odds = alone_odds(made, ASSUMED["efficiency"], clock_ahead_min=None)
    usual = statistics.NormalDist(math.log(5.8), 0.35)

    assert odds[0, 0] == pytest.approx(math.log(2.7 * 0.97 * usual.pdf(math.log(100.0 / 17.0))), abs=0.05)
    assert odds[0, 1] == pytest.approx(math.log(0.03), abs=0.05)


def test_nothing_is_impossible() -> None:
    """No odds are worse than e^-60, so that a value that nothing explains stays in the running; NaN says nothing."""
    usual, _ = last_step(strand("trip", [0.0, 999.9], half_step=0.05, km=[0.0, 1.0]), TRIP)

    assert usual == -60.0
