"""Figures are told in people's units and rounded to what their intervals allow.

Outside: the Particle Data Group's rule of rounding (Review of Particle Physics, introduction, section 5.3; its two worked examples
are from memory), NIST SP 811's foot and mile through Pint.
"""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.core.reporting.figure_words import (
    ShownUnits,
    decimals,
    duration_text,
    figure_text,
    in_units,
    number_text,
    unit_text,
)
from logger.core.results.figures import YES_NO, Figure

KM = ShownUnits("km")
MI = ShownUnits("mi", "degF")
PINT = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("value", "half", "told"),
    [
        (0.827, 0.119, "0.83"),  # the PDG's examples: 0.83 +- 0.12 and 0.8 +- 0.4
        (0.827, 0.367, "0.8"),
        (262.34, 4.0, "262"),
        (262.34, 2.1, "262.3"),
        (262.34, 0.96, "262.3"),  # 950 to 999 count as 1000, with two digits
        (1.01234, 0.0022, "1.0123"),
        (1240.0, 300.0, "1240"),
        (1240.0, 600.0, "1200"),
        (3.1, 40.0, "3"),
        (0.0, 40.0, "0"),
        (-0.009, 0.4955, "−0.01"),  # one place more than the interval allows, no further
        (0.0004, 40.0, "0"),
        (262.34, 1e-9, "262.3400"),
    ],
)
def test_a_value_has_the_digits_its_interval_allows(value: float, half: float, told: str) -> None:
    """Two digits of half the interval up to 35, else one; never so coarse that nothing is left, never finer than anybody knows."""
    assert told == number_text(value, decimals(value, "", half))


@pytest.mark.parametrize(
    ("figure", "units", "whole"),
    [
        (Figure(262.0, "km", 258.0, 266.0), KM, "262 km (95 %: 258 to 266)"),
        (Figure(262.0, "km", 258.0, 266.0), MI, "162.8 mi (95 %: 160.3 to 165.3)"),
        (Figure(160.0, "Wh/km"), KM, "160 Wh/km"),
        (Figure(160.0, "Wh/km"), MI, "257 Wh/mi"),
        (Figure(17.0, "degC", 16.0, 18.0), MI, "62.6 °F (95 %: 60.8 to 64.4)"),
        (Figure(26.4, "m"), MI, "87 ft"),
        (Figure(26.4, "m"), KM, "26 m"),
        (Figure(10.0, "m/s"), MI, "22.4 mph"),
        (Figure(-3.4, "m/s", -4.0, -2.8), KM, "−3.4 m/s (95 %: −4.0 to −2.8)"),
        (Figure(2.5, "km/%"), MI, "1.55 mi per %"),
        (Figure(40.0, "%/100km"), MI, "64.4 % per 100 mi"),
        (Figure(7499.0, "s", 7200.0, 7800.0), KM, "2 h 05 min (95 %: 2 h 00 min to 2 h 10 min)"),
        (
            Figure(7499.0, "s", 7479.0, 7519.0),
            KM,
            "2 h 04 min 59 s (95 %: 2 h 04 min 39 s to 2 h 05 min 19 s)",
        ),
        (Figure(40_656.0, "m", 40_646.0, 40_666.0), KM, "40.656 km (95 %: 40.646 to 40.666)"),
        (Figure(40_656.0, "m"), MI, "25.3 mi"),
        (Figure(2_600.0, "m"), MI, "8530 ft"),
        (Figure(7499.0, "s", 7434.0, 7564.0), KM, "2 h 05 min (95 %: 2 h 04 min to 2 h 06 min)"),
        (Figure(1.0, YES_NO), MI, "yes"),
        (Figure(0.0, YES_NO), KM, "no"),
        (Figure(3.0, ""), KM, "3"),
        (Figure(1.0123, ""), KM, "1.012"),
        (Figure(1.2041, "kg/m3"), MI, "1.204 kg/m³"),
        (Figure(98.7, "MPGe"), KM, "98.7 MPGe"),
    ],
)
def test_a_figure_in_one_text(figure: Figure, units: ShownUnits, whole: str) -> None:
    """Value, unit as people write it, and the interval at the same place."""
    assert whole == figure_text(figure, units).whole


@pytest.mark.parametrize(
    ("unit", "to", "by_pint"), [("m", "ft", "foot"), ("m/s", "mph", "mile/hour"), ("km", "mi", "mile")]
)
def test_heights_and_winds_for_miles_people_agree_with_pint(unit: str, to: str, by_pint: str) -> None:
    """Feet for metres, miles an hour for metres a second."""
    told = in_units(Figure(123.4, unit), MI)
    expected = PINT.Quantity(123.4, {"m": "meter", "m/s": "meter/second", "km": "kilometer"}[unit]).to(
        by_pint
    )

    assert to == told.unit
    assert pytest.approx(expected.magnitude, rel=1e-12) == told.value


@given(
    st.floats(-1e6, 1e6, allow_nan=False),
    st.floats(1e-6, 1e5),
    st.floats(1e-6, 1e5),
    st.sampled_from(["km", "Wh/km", "", "%", "m", "degC", "kg/m3", "km/%"]),
    st.sampled_from([KM, MI]),
)
def test_rounding_keeps_the_value_inside(
    value: float, below: float, above: float, unit: str, units: ShownUnits
) -> None:
    """However lopsided the interval: as told, the value lies in it, and in the figure's own to half a digit."""
    text = figure_text(Figure(value, unit, value - below, value + above), units)
    low, high = (_number(end) for end in text.interval.split(" to "))

    assert low <= _number(text.value) <= high
    assert "-" not in text.value


def test_what_has_no_reciprocal_stays_as_it_is() -> None:
    """0 Wh/km is no number of miles per kWh, and nothing breaks."""
    assert "0 Wh/mi" == figure_text(Figure(0.0, "Wh/km"), MI).whole
    assert "0.00 km/kWh" == figure_text(Figure(0.0, "km/kWh"), KM).whole


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0.0, "0 s"),
        (59.6, "1 min 00 s"),
        (3599.6, "1 h 00 min"),
        (7199.0, "2 h 00 min"),
        (-90.0, "−1 min 30 s"),
    ],
)
def test_times_that_pass(seconds: float, text: str) -> None:
    """Rounding goes over into the next minute and hour."""
    assert text == duration_text(seconds)


def test_units_as_people_write_them() -> None:
    """Degrees, powers and what is per something."""
    assert ["°C", "kWh/100 km", "kg/m³", "mph"] == [
        unit_text(each) for each in ("degC", "kWh/100km", "kg/m3", "mph")
    ]


def _number(text: str) -> float:
    return float(text.replace("−", "-"))
