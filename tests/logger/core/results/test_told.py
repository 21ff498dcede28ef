"""What of a sheet's conditions counts."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from sample_drive import FOLDER

from logger.core.results.told import CLASSES, KNOWN, told_by
from logger.core.sheet import parse_sheet


def test_units_become_base_units() -> None:
    """40 mph are 64.37376 km/h, 3.5 m/s 12.6 km/h, 68 degF 20 degC (NIST SP 811, section B)."""
    told = told_by(
        {
            "target_gps_speed_mph": 40,
            "wind_mps": 3.5,
            "temperature_degF": 68,
            "road_load_f0_N": 120,
            "odometer_mi": 100,
        }
    )

    assert pytest.approx(64.37376) == told.get("target_gps_speed")
    assert pytest.approx(12.6) == told.get("wind")
    assert pytest.approx(20.0) == told.get("temperature")
    assert 120.0 == told.get("road_load_f0")
    assert pytest.approx(160.9344) == told.get("odometer")
    assert () == told.problems


@pytest.mark.parametrize(
    ("test", "problem"),
    [
        ({"mass_kg": "heavy"}, "mass_kg is no number"),
        ({"mass_kg": math.nan}, "mass_kg is no number"),
        ({"mass_kg": True}, "mass_kg is no number"),
        ({"mass_kg": 16.4}, "mass_kg of 16.4 cannot be right"),
        ({"wind_mps": 3, "wind_kmh": 11}, "both wind_kmh and wind_mps"),
        ({"class": "lorry"}, "class 'lorry' is none of small"),
    ],
)
def test_what_cannot_be_used_is_said(test: dict[str, str | float | bool], problem: str) -> None:
    """One sentence each; the drive is not refused."""
    told = told_by(test)

    (found,) = told.problems
    assert problem in found
    assert told.car_class is None


@given(
    st.dictionaries(
        st.sampled_from(
            [f"{name}_{ending}" for name, known in KNOWN.items() for ending in known.units] + ["class"]
        ),
        st.one_of(st.sampled_from(["", "small", "17"]), st.booleans(), st.integers(), st.floats()),
    )
)
@example({"odometer_mi": 1.2e308, "target_gps_speed_mps": 10**400})
def test_whatever_is_told_is_within_its_limits(test: dict[str, str | int | float | bool]) -> None:
    """Nothing raises, and nothing else counts."""
    told = told_by(test)

    assert all(KNOWN[name].lowest <= value <= KNOWN[name].highest for name, value in told.numbers.items())
    assert told.car_class in {None, *CLASSES}


def test_the_sample_tells_its_car_and_weather() -> None:
    """As samples/loop.py has them: what the report of the sample rests on."""
    told = told_by(parse_sheet((FOLDER / "sheet.toml").read_text(encoding="utf-8")).test)

    expected = {"usable": 16.4, "target_gps_speed": 90.0, "temperature": 17.0, "wind": 12.6, "mass": 1080.0}
    expected |= {
        "drag_area": 0.62,
        "rolling_resistance": 0.0105,
        "drive_efficiency": 0.88,
        "auxiliary": 420.0,
    }
    assert {name: pytest.approx(value) for name, value in expected.items()} == {
        name: told.get(name) for name in expected
    }
    # The wind blows 0.6 rad counter-clockwise from east there: towards 55.6 degrees.
    assert told.numbers["wind_from"] == pytest.approx(270.0 - math.degrees(0.6), abs=0.5)
    assert ("small", ()) == (told.car_class, told.problems)
