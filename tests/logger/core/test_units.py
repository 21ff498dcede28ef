"""Conversions are exact, and rounding keeps every said digit.

Outside: Pint's unit registry, NIST SP 811 (the mile of 1609.344 m, temperatures), and the pairs of
`check-values.md` section 1, which were worked out from 100 / (1.609344 x mi/kWh).
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.core.units import UNITS, convert, convert_exactly, convertible, shown_in

PINT = pint.UnitRegistry()
PINT_UNITS = {
    "km": "kilometer",
    "mi": "mile",
    "km/h": "kilometer/hour",
    "mph": "mile/hour",
    "degC": "degC",
    "degF": "degF",
    "km/kWh": "kilometer/kWh",
    "mi/kWh": "mile/kWh",
    "Wh/km": "watt_hour/kilometer",
    "Wh/mi": "watt_hour/mile",
    "kWh/100km": "kWh/hectokilometer",
    "kWh/100mi": "kWh/hectomile",
    "MPGe": "mile/petrol_gallon",
}
PINT.define("hectokilometer = 100 * kilometer")
PINT.define("hectomile = 100 * mile")
PINT.define("petrol_gallon = 33.705 * kWh")
PAIRS = [(unit, to) for unit in PINT_UNITS for to in PINT_UNITS if unit != to and convertible(unit, to)]


def by_pint(value: float, unit: str, to: str) -> float:
    """The same conversion by Pint, turning efficiency over into consumption where the two differ."""
    quantity = PINT.Quantity(value, PINT_UNITS[unit])
    target = PINT_UNITS[to]
    if not quantity.is_compatible_with(target):
        quantity = 1 / quantity
    return float(quantity.to(target).magnitude)


@pytest.mark.parametrize(("unit", "to"), PAIRS)
@pytest.mark.parametrize("value", [0.1, 3.4, 17.0, 97.2, 12345.0])
def test_every_pair_agrees_with_pint(unit: str, to: str, value: float) -> None:
    """Each convertible pair of units gives what Pint gives, to 12 digits."""
    assert pytest.approx(by_pint(value, unit, to), rel=1e-12) == float(
        convert_exactly(Decimal(str(value)), unit, to)
    )


@pytest.mark.parametrize(
    ("mi_per_kwh", "wh_per_mi", "kwh_per_100km", "km_per_kwh"),
    [
        ("2.0", 500, 31.06856, 3.218688),
        ("2.5", 400, 24.85485, 4.02336),
        ("3.0", 333.3333, 20.71237, 4.828032),
        ("3.5", 285.7143, 17.75346, 5.632704),
        ("4.0", 250, 15.53428, 6.437376),
        ("4.5", 222.2222, 13.80825, 7.242048),
    ],
)
def test_the_table_of_efficiencies(
    mi_per_kwh: str, wh_per_mi: float, kwh_per_100km: float, km_per_kwh: float
) -> None:
    """check-values.md section 1, pairs: the four ways to say an efficiency agree to the seven digits printed."""
    value = Decimal(mi_per_kwh)

    assert pytest.approx(wh_per_mi, rel=2e-7) == float(convert_exactly(value, "mi/kWh", "Wh/mi"))
    assert pytest.approx(kwh_per_100km, rel=2e-7) == float(convert_exactly(value, "mi/kWh", "kWh/100km"))
    assert pytest.approx(km_per_kwh, rel=2e-7) == float(convert_exactly(value, "mi/kWh", "km/kWh"))


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        ("1", "mi", "km", Fraction(1_609_344, 1_000_000)),  # NIST SP 811 B.6: 5280 ft of 0.3048 m
        ("70", "mph", "km/h", Fraction("112.65408")),  # check-values.md section 1, with the next three
        ("65", "mph", "km/h", Fraction("104.60736")),
        ("55", "mph", "km/h", Fraction("88.51392")),
        ("75", "mph", "km/h", Fraction("120.7008")),
        ("15", "kWh/100km", "Wh/mi", Fraction("241.4016")),
        ("20", "kWh/100km", "Wh/mi", Fraction("321.8688")),
        ("-40", "degF", "degC", Fraction(-40)),
        ("14", "degF", "degC", Fraction(-10)),
        ("32", "degF", "degC", Fraction(0)),
        ("104", "degF", "degC", Fraction(40)),
        ("25", "degC", "degF", Fraction(77)),
        ("15", "kWh/100km", "Wh/km", Fraction(150)),
    ],
)
def test_exact_values(value: str, unit: str, to: str, expected: Fraction) -> None:
    """Values with a finite decimal expansion come out exactly, with no float dust."""
    assert expected == convert_exactly(Decimal(value), unit, to)


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        ("97.2", "mi", "km", "156.4"),
        ("156.4", "km", "mi", "97.18"),
        ("109", "mi", "km", "175"),
        ("67", "mph", "km/h", "108"),
        ("44", "degF", "degC", "6.7"),
        ("-4", "degC", "degF", "25"),
        ("3.4", "mi/kWh", "kWh/100km", "18.3"),
        ("18.3", "kWh/100km", "mi/kWh", "3.40"),
        ("0.0", "mi", "km", "0.0"),
        ("0.0", "kWh/100km", "Wh/mi", "0"),
        ("63.0", "%", "%", "63.0"),
    ],
)
def test_rounding(value: str, unit: str, to: str, expected: str) -> None:
    """A converted value has the decimals its said digits are worth, and its own unit leaves it as said."""
    assert expected == str(convert(Decimal(value), unit, to))


@given(
    pair=st.sampled_from(PAIRS),
    digits=st.integers(1, 99_999),
    places=st.integers(0, 3),
)
def test_no_said_digit_is_lost(pair: tuple[str, str], digits: int, places: int) -> None:
    """Converted, rounded, and converted back, a value is within half of its last digit of what was said."""
    unit, to = pair
    said = Decimal(digits).scaleb(-places)

    back = convert_exactly(convert(said, unit, to), to, unit)

    assert abs(back - Fraction(said)) <= Fraction(1, 2 * 10**places)


@given(pair=st.sampled_from(PAIRS), digits=st.integers(1, 99_999), places=st.integers(0, 3))
def test_there_and_back_is_exact(pair: tuple[str, str], digits: int, places: int) -> None:
    """Without rounding, there and back is the very same number."""
    unit, to = pair
    said = Fraction(digits, 10**places)

    assert said == convert_exactly(convert_exactly(said, unit, to), to, unit)


@pytest.mark.parametrize(
    ("value", "unit", "to"),
    [("1", "mi", "kWh"), ("1", "mi", "furlong"), ("0", "kWh/100km", "mi/kWh"), ("NaN", "mi", "km")],
)
def test_what_has_no_value_is_refused(value: str, unit: str, to: str) -> None:
    """Different kinds, unknown units, the reciprocal of zero and no number at all raise ValueError."""
    with pytest.raises(ValueError, match=r"converted|no value|no number|NaN"):
        convert(Decimal(value), unit, to)


def test_an_unknown_unit_is_kept_in_itself() -> None:
    """A unit that only a sheet knows passes through, in every choice of distances."""
    assert Decimal("5.0") == convert(Decimal("5.0"), "bar", "bar")
    assert ["bar", "bar", "bar"] == [shown_in("bar", choice) for choice in (None, "mi", "km")]


@pytest.mark.parametrize(
    ("unit", "in_mi", "in_km"),
    [
        ("mi", "mi", "km"),
        ("km", "mi", "km"),
        ("mph", "mph", "km/h"),
        ("km/h", "mph", "km/h"),
        ("mi/kWh", "mi/kWh", "km/kWh"),
        ("km/kWh", "mi/kWh", "km/kWh"),
        ("Wh/mi", "Wh/mi", "Wh/km"),
        ("Wh/km", "Wh/mi", "Wh/km"),
        ("kWh/100km", "Wh/mi", "kWh/100km"),
        ("kWh/100mi", "kWh/100mi", "kWh/100km"),
        ("MPGe", "MPGe", "MPGe"),
        ("degF", "degF", "degF"),
        ("degC", "degC", "degC"),
        ("kWh", "kWh", "kWh"),
        ("%", "%", "%"),
        ("min", "min", "min"),
        ("", "", ""),
    ],
)
def test_showing_in_miles_or_kilometres(unit: str, in_mi: str, in_km: str) -> None:
    """Distances, speeds and efficiencies follow the choice; temperatures and the rest stay as said."""
    assert (unit, in_mi, in_km) == (shown_in(unit, None), shown_in(unit, "mi"), shown_in(unit, "km"))


@pytest.mark.parametrize(
    ("mi_per_kwh", "kwh_per_100mi", "mpge"),
    [
        ("2.0", 50, 67.41),
        ("2.5", 40, 84.2625),
        ("3.0", 33.3333, 101.115),
        ("3.5", 28.5714, 117.9675),
        ("4.0", 25, 134.82),
        ("4.5", 22.2222, 151.6725),
    ],
)
def test_miles_by_the_gallon(mi_per_kwh: str, kwh_per_100mi: float, mpge: float) -> None:
    """check-values.md section 1, pairs, at 33.705 kWh to the US gallon."""
    value = Decimal(mi_per_kwh)

    assert pytest.approx(kwh_per_100mi, rel=2e-6) == float(convert_exactly(value, "mi/kWh", "kWh/100mi"))
    assert Fraction(str(mpge)) == convert_exactly(value, "mi/kWh", "MPGe")


def test_a_published_label() -> None:
    """US DOE Fact #659 (24 January 2011): 34 kWh/100 mi is 99 MPGe on the label of a car."""
    assert 99 == round(convert_exactly(Decimal(34), "kWh/100mi", "MPGe"))


def test_zero_survives_every_choice() -> None:
    """A choice of distances never asks for a reciprocal, so 0 is defined in all of them."""
    shown = [convert(Decimal(0), unit, shown_in(unit, choice)) for unit in UNITS for choice in ("mi", "km")]

    assert [Decimal(0)] * len(shown) == shown
