"""Air against the tables and libraries of others."""

from __future__ import annotations

import pytest
from ambiance import Atmosphere
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI

from logger.core.results.air_density import (
    density_kg_m3,
    lifted_pa,
    saturation_pa,
    standard_kelvin,
    standard_pressure_pa,
)


@pytest.mark.parametrize("altitude_m", [0.0, 137.0, 500.0, 1000.0, 1609.344, 2000.0, 3000.0, 5000.0])
def test_the_standard_atmosphere_is_that_of_ambiance(altitude_m: float) -> None:
    """ISO 2533 / ICAO standard atmosphere as the library ambiance has it, within 1e-5."""
    there = Atmosphere(altitude_m)
    pascal, kelvin = standard_pressure_pa(altitude_m), standard_kelvin(altitude_m)

    assert pytest.approx(float(there.pressure[0]), rel=1e-5) == pascal
    assert pytest.approx(float(there.temperature[0]), rel=1e-6) == kelvin
    assert pytest.approx(float(there.density[0]), rel=1e-5) == density_kg_m3(pascal, kelvin - 273.15)


@pytest.mark.parametrize(
    ("altitude_m", "kg_m3", "pascal"),
    [
        (0, 1.225000, 101325.0),
        (500, 1.167273, 95461.29),
        (1000, 1.111660, 89876.28),
        (3000, 0.909254, 70121.14),
    ],
)
def test_values_noted_from_the_libraries(altitude_m: float, kg_m3: float, pascal: float) -> None:
    """shared/check-values.md, section 3: ambiance and fluids agree on these to 7e-7."""
    celsius = standard_kelvin(altitude_m) - 273.15

    assert pytest.approx(pascal, rel=1e-6) == standard_pressure_pa(altitude_m)
    assert pytest.approx(kg_m3, rel=1e-5) == density_kg_m3(standard_pressure_pa(altitude_m), celsius)


@pytest.mark.parametrize("celsius", [-20.0, -10.0, 0.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0])
@pytest.mark.parametrize("humidity", [0.0, 50.0, 100.0])
@pytest.mark.parametrize("pascal", [101_325.0, 90_000.0])
def test_moist_air_is_that_of_coolprop(celsius: float, humidity: float, pascal: float) -> None:
    """One over the volume of a kilogram of humid air (not of dry air), within 0.11 %: real air is denser by up to that."""
    theirs = 1.0 / HAPropsSI("Vha", "T", celsius + 273.15, "P", pascal, "R", humidity / 100.0)

    assert pytest.approx(theirs, rel=1.1e-3) == density_kg_m3(pascal, celsius, humidity)


@pytest.mark.parametrize(
    ("celsius", "dry", "moist"),
    [(-20, 1.394366, 1.395409), (0, 1.292271, 1.291625), (20, 1.204106, 1.199359), (35, 1.145493, 1.133816)],
)
def test_values_noted_from_coolprop(celsius: float, dry: float, moist: float) -> None:
    """shared/check-values.md, section 3, at 101.325 kPa: dry as an ideal gas, and CoolProp's moist air of 50 %."""
    assert pytest.approx(dry, rel=2e-6) == density_kg_m3(101_325.0, celsius)
    assert pytest.approx(moist, rel=1e-3) == density_kg_m3(101_325.0, celsius, 50.0)


@pytest.mark.parametrize("celsius", [0.1, 10.0, 20.0, 30.0, 40.0])
def test_saturation_is_that_of_coolprop(celsius: float) -> None:
    """The vapour pressure of water, within 0.5 %."""
    theirs = PropsSI("P", "T", celsius + 273.15, "Q", 1, "Water")

    assert pytest.approx(theirs, rel=5e-3) == saturation_pa(celsius)


def test_lifting_air_follows_the_standard_atmosphere() -> None:
    """From 0 to 400 m at the mean temperature of that layer, within 1e-5."""
    assert pytest.approx(standard_pressure_pa(400.0), rel=1e-5) == lifted_pa(101_325.0, 15.0 - 1.3, 400.0)
