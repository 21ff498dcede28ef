"""The road-load equation by hand, from the sheet, a coastdown or a class."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from logger.core.results.car_load import CarLoad, Going, drawn_wh_per_km, load_of
from logger.core.results.told import CLASSES, told_by

CAR = {
    "mass_kg": 1500,
    "drag_area_m2": 0.6,
    "rolling_resistance": 0.01,
    "drive_efficiency": 0.9,
    "recovery_efficiency": 0.6,
    "auxiliary_w": 500,
}


def load(test: dict[str, float | str]) -> CarLoad:
    """The load of a sheet."""
    found = load_of(told_by(test))
    assert isinstance(found, CarLoad)
    return found


def going(mps: float = 25.0, headwind: float = 0.0, rise: float = 0.0, air: float = 1.2) -> Going:
    """Ten kilometres at one speed, in cells of 200 m that rise by so much each."""
    one = np.ones(50)
    return Going(200.0 * one, mps * one, np.full(51, mps), headwind * one, rise * one, air, 10_000.0 / mps)


def test_by_hand() -> None:
    """90 km/h: 0.5 x 1.2 x 0.6 x 625 = 225 N, 147.1 N of rolling; over 0.9, and 500 W for 400 s: 120.4 Wh/km."""
    newtons = 0.5 * 1.2 * 0.6 * 25.0**2 + 0.01 * 1500 * 9.80665
    expected = newtons / 0.9 / 3.6 + 500 * 400 / 3600 / 10

    assert pytest.approx(120.4, abs=0.05) == expected
    assert pytest.approx(expected) == drawn_wh_per_km(load(CAR).numbers, going())


def test_a_descent_gives_back_less_than_a_climb_takes() -> None:
    """8 % up: all over 0.9. 8 % down: what is below 0 at the wheels times 0.6."""
    numbers, grade = load(CAR).numbers, 1500 * 9.80665 * 16.0 / 200.0
    level = 225.0 + 147.09975
    aux = 500 * 400 / 3600 / 10

    assert pytest.approx((level + grade) / 0.9 / 3.6 + aux) == drawn_wh_per_km(numbers, going(rise=16.0))
    assert pytest.approx((level - grade) * 0.6 / 3.6 + aux) == drawn_wh_per_km(numbers, going(rise=-16.0))


def test_a_headwind_goes_by_air_speed() -> None:
    """5 m/s against 25: drag by (30 / 25)^2."""
    numbers = load(CAR).numbers
    more = drawn_wh_per_km(numbers, going(headwind=5.0)) - drawn_wh_per_km(numbers, going())

    assert pytest.approx(225.0 * (1.44 - 1.0) / 0.9 / 3.6) == more


def test_speeding_up_takes_kinetic_energy() -> None:
    """From standing to 25 m/s: 1.03 x 1500 x 625 / 2 J over the efficiency (1.03: SAE J2263), spread over 10 km."""
    numbers, start = load(CAR).numbers, going()
    edges = start.edge_mps.copy()
    edges[0] = 0.0
    more = drawn_wh_per_km(numbers, dataclasses.replace(start, edge_mps=edges)) - drawn_wh_per_km(
        numbers, start
    )

    assert pytest.approx(0.5 * 1.03 * 1500 * 625 / 0.9 / 3600 / 10) == more


def test_a_coastdown_takes_the_place_of_area_and_rolling() -> None:
    """F = F0 + F1 V + F2 V^2 (SAE J2263): 120 + 0.5 x 90 + 0.028 x 8100 = 391.8 N at 90 km/h in reference air."""
    coastdown = {
        "mass_kg": 1500,
        "road_load_f0_N": 120,
        "road_load_f1_N_per_kmh": 0.5,
        "road_load_f2_N_per_kmh2": 0.028,
    }
    found = load({**CAR, **coastdown, "auxiliary_w": 0})

    assert pytest.approx(391.8 / 0.9 / 3.6, rel=1e-6) == drawn_wh_per_km(found.numbers, going(air=1.16709))
    assert 0.0 == found.numbers["rolling_resistance"]
    assert 0.0 < found.sds["road_load_f0"]


@pytest.mark.parametrize("car_class", CLASSES)
def test_a_class_is_enough_and_rough(car_class: str) -> None:
    """At 110 km/h on the level between 120 and 350 Wh/km (common knowledge); each number is off by tens of percent."""
    found = load({"class": car_class})

    assert 120.0 < drawn_wh_per_km(found.numbers, going(110 / 3.6)) < 350.0
    assert car_class == found.car_class
    assert () == found.told
    assert pytest.approx(0.15 * found.numbers["mass"]) == found.sds["mass"]


def test_what_the_sheet_tells_comes_before_the_class() -> None:
    """And is known to some percent."""
    found = load({"class": "large", "mass_kg": 2222})

    assert 2222 == found.numbers["mass"]
    assert pytest.approx(0.02 * 2222) == found.sds["mass"]
    assert "large" == found.car_class
    assert load({**CAR, "class": "large"}).car_class is None


@pytest.mark.parametrize(
    "test", [{}, {"mass_kg": 1500}, {"road_load_f0_N": 120}, {"mass_kg": 1500, "drag_area_m2": 0.6}]
)
def test_too_little_is_said(test: dict[str, float]) -> None:
    """No class, and not all of mass, drag and rolling."""
    assert "write its class" in str(load_of(told_by(test)))
