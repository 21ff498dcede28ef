"""The density of air, and the standard atmosphere. Pure.

Moist air is a mixture of two ideal gases (CIPM's formula without its compressibility, which is below 0.1 %); the vapour's
saturation pressure is Magnus' formula with the coefficients of Alduchov and Eskridge (J. Appl. Meteor. 35, 1996, 601-609; from
memory, the tests hold it to CoolProp within 0.1 % of the density). Pressure falls with height as in ISO 2533 and the ICAO
standard atmosphere: 6.5 K a km from 15 degC and 1013.25 hPa, by geopotential height.
"""

from __future__ import annotations

import math

DRY_J_PER_KG_K = 287.05287
"""ISO 2533."""
VAPOUR_J_PER_KG_K = 461.5
ZERO_C_IN_K = 273.15
SEA_LEVEL_PA = 101_325.0
SEA_LEVEL_K = 288.15
LAPSE_K_PER_M = 0.0065
GRAVITY_MPS2 = 9.80665

_EARTH_RADIUS_M = 6_356_766.0
_EXPONENT = GRAVITY_MPS2 / (DRY_J_PER_KG_K * LAPSE_K_PER_M)


def saturation_pa(celsius: float) -> float:
    """Return the pressure of saturated vapour over water."""
    return 610.94 * math.exp(17.625 * celsius / (celsius + 243.04))


def density_kg_m3(pressure_pa: float, celsius: float, humidity_pct: float = 0.0) -> float:
    """Return the density of moist air; the humidity is relative, 0 to 100."""
    vapour = humidity_pct / 100.0 * saturation_pa(celsius)
    kelvin = celsius + ZERO_C_IN_K
    return (pressure_pa - vapour) / (DRY_J_PER_KG_K * kelvin) + vapour / (VAPOUR_J_PER_KG_K * kelvin)


def standard_pressure_pa(altitude_m: float) -> float:
    """Return the pressure of the standard atmosphere up to 11 km."""
    return SEA_LEVEL_PA * math.pow(standard_kelvin(altitude_m) / SEA_LEVEL_K, _EXPONENT)


def standard_kelvin(altitude_m: float) -> float:
    """Return the temperature of the standard atmosphere up to 11 km."""
    geopotential_m = _EARTH_RADIUS_M * altitude_m / (_EARTH_RADIUS_M + altitude_m)
    return SEA_LEVEL_K - LAPSE_K_PER_M * geopotential_m


def lifted_pa(pressure_pa: float, celsius: float, by_m: float) -> float:
    """Return the pressure so much higher, in air of this temperature (the barometric formula)."""
    return pressure_pa * math.exp(-GRAVITY_MPS2 * by_m / (DRY_J_PER_KG_K * (celsius + ZERO_C_IN_K)))
