"""Typed words and digits mean what the call-out language says, with quantity and unit from the entry where left out."""

from __future__ import annotations

from decimal import Decimal

import pytest

from grammar import Language, Phrasebook, default_quantities
from logger.core.typed import MOST_LETTERS, as_note, quantity_of, understand

MILES = Language(Phrasebook())
METRIC = Language(Phrasebook(default_quantities("metric")))
OPEN = Language(Phrasebook(lead=""))

RANGE_KM = (("range_left", "km"),)
TRIP_KM = (("trip", "km"),)
TRIP_MI = (("trip", "mi"),)


def told(text: str, about: tuple[tuple[str, str], ...], language: Language = MILES) -> list[str]:
    """Every way to understand a text, as text."""
    return [", ".join(each.text for each in way) for way in understand(text, language, about)]


@pytest.mark.parametrize(
    ("text", "about", "meant"),
    [
        ("one oh five", RANGE_KM, ["range left 105 km"]),
        ("105", RANGE_KM, ["range left 105 km"]),
        ("105 mi", RANGE_KM, ["range left 105 mi"]),
        ("range 105", TRIP_KM, ["range left 105 mi"]),
        ("105 miles left", TRIP_KM, ["range left 105 mi"]),
        ("97.2", TRIP_MI, ["trip 97.2 mi"]),
        ("97.0", TRIP_MI, ["trip 97.0 mi"]),
        ("63", (("charge", "%"),), ["charge 63 %"]),
        ("63%", TRIP_KM, ["charge 63 %"]),
        ("21", (("battery_temperature", "degC"),), ["battery temperature 21 \N{DEGREE SIGN}C"]),
        ("-4", (("outside_temperature", "degC"),), ["outside temperature -4 \N{DEGREE SIGN}C"]),
        ("40 degrees", (("outside_temperature", "degF"),), ["outside temperature 40 \N{DEGREE SIGN}F"]),
        ("18.2", (("efficiency", "kWh/100km"),), ["efficiency 18.2 kWh/100km"]),
        ("07:40", (("clock", "min"),), ["clock 07:40"]),
        ("7:40 pm", (("clock", "min"),), ["clock 19:40"]),
        ("66 mph", (("indicated_speed", "km/h"),), ["indicated speed 66 mph"]),
        ("63% 42.1 km", (), ["charge 63 %, trip 42.1 km"]),
        ("note headwind", TRIP_KM, ["note headwind"]),
    ],
)
def test_one_meaning(text: str, about: tuple[tuple[str, str], ...], meant: list[str]) -> None:
    """What is left out comes from the entry; what is said goes before it."""
    assert meant == told(text, about)


@pytest.mark.parametrize(
    ("text", "about", "meant"),
    [
        (
            "40 degrees",
            (("outside_temperature", "degC"),),
            {"outside temperature 40 \N{DEGREE SIGN}F", "outside temperature 40 \N{DEGREE SIGN}C"},
        ),
        ("7:40", (("clock", "min"),), {"clock 07:40", "clock 19:40"}),
        ("7:40", (*TRIP_KM, ("clock", "min")), {"clock 07:40", "clock 19:40"}),
        ("thirty eight fifty seven", (("odometer", "km"),), {"odometer 3857 km", "odometer 30857 km"}),
        ("105", (*TRIP_KM, *RANGE_KM, ("charge", "%")), {"trip 105 km", "range left 105 km"}),
    ],
)
def test_two_meanings_are_both_told(text: str, about: tuple[tuple[str, str], ...], meant: set[str]) -> None:
    """Nothing is guessed."""
    assert meant == set(told(text, about))


def test_digits_have_no_second_meaning() -> None:
    """Digits, 3857, are themselves, though the same in words may be 30857."""
    assert ["odometer 3857 km"] == told("3857", (("odometer", "km"),))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "hello",
        "1200",
        "97.25",
        "63.0 %",
        "<script>",
        "strike that",
        "how far",
        "1" * (MOST_LETTERS + 1),
        "9" * 150,
    ],
)
def test_what_means_nothing(text: str) -> None:
    """Neither words outside the language nor numbers that no display of the sheet shows; and nothing raises."""
    assert [] == told(text, TRIP_KM)


def test_other_sheets() -> None:
    """A metric sheet's own degrees, and a sheet without a lead word."""
    celsius = ["outside temperature 21 \N{DEGREE SIGN}C"]
    assert celsius == told("21 degrees", (("outside_temperature", "degC"),), METRIC)
    assert ["trip 42.1 km"] == told("42.1", TRIP_KM, OPEN)
    assert ["charge 63 %"] == told("sixty three percent", (), OPEN)


def test_notes() -> None:
    """One line, without "note", and not without end."""
    assert "a detour by the mill" == as_note("  note a detour\n by the\tmill ")
    assert 500 == len(as_note("x" * 9_000))


def test_whose_value_an_alternative_is() -> None:
    """The entry's own quantity where its words may tell that, else what they tell."""
    value = Decimal(105)
    assert "trip" == quantity_of("one oh five miles", value, "mi", "trip", MILES)
    assert "range_left" == quantity_of("one oh five miles left", value, "mi", "trip", MILES)
    assert "charge" == quantity_of("words of no language", value, "mi", "charge", MILES)
