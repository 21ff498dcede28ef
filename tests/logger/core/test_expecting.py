"""Between which values a drive expects a reading."""

from __future__ import annotations

from decimal import Decimal

import pytest
from called_drives import BEGAN, NANO, nowhere, steady

from logger.core.evidence import Surroundings
from logger.core.expecting import expected, expected_text, likely_values
from logger.core.neighbours import Place
from logger.core.rules import Facts, Observation
from logger.core.strands import Knot, Woven, weave
from logger.model import Drive

AROUND = Surroundings(Drive(BEGAN, ""), steady, [0, 4_000 * NANO])


def woven_of(quantity: str, unit: str, values: list[str]) -> tuple[Woven, list[Observation]]:
    """Readings 5 km apart, settled, and what each was."""
    seen = [
        AROUND.observe(quantity, Decimal(value), unit, 200 * NANO * number)
        for number, value in enumerate(values)
    ]
    woven = weave({quantity: [Knot(each.at_ns, (each,), (-0.1,), -6.0) for each in seen]}, Facts({}), AROUND)
    return woven[quantity], seen


def place(woven: Woven, index: int, before_at: int | None, after_at: int | None) -> Place:
    """Where a reading lies, with these as the trusted ones around it."""
    before, after = (None if at is None else woven.taken(at) for at in (before_at, after_at))
    return Place(woven, index, before_at, after_at, before, after)


def test_a_trip_between_two() -> None:
    """Half way between 45 and 55 km: 50, within two standard deviations of what rounding and the meter leave."""
    woven, seen = woven_of("trip", "km", [f"{5.0 * number:.1f}" for number in range(20)])
    bounds = expected(seen[10], place(woven, 10, 9, 11))

    assert bounds is not None
    assert bounds[0] < 50.0 < bounds[1]
    assert bounds[1] - bounds[0] < 0.6


def test_one_neighbour_says_less() -> None:
    """Without the reading after, the bounds are wider."""
    woven, seen = woven_of("trip", "km", [f"{5.0 * number:.1f}" for number in range(20)])
    both, one = expected(seen[10], place(woven, 10, 9, 11)), expected(seen[10], place(woven, 10, 9, None))

    assert both is not None
    assert one is not None
    assert one[1] - one[0] > both[1] - both[0]


@pytest.mark.parametrize(
    ("quantity", "unit", "values", "sign"),
    [
        ("trip", "mi", [f"{3.1 * n:.1f}" for n in range(12)], " mi"),
        ("charge", "%", [str(90 - 2 * n) for n in range(12)], " %"),
        ("outside_temperature", "degF", ["50"] * 12, " °F"),
        ("efficiency", "kWh/100km", ["17.2"] * 12, " kWh/100km"),
    ],
)
def test_in_words(quantity: str, unit: str, values: list[str], sign: str) -> None:
    """In the unit and with the decimals said, low to high, around the value of a steady drive."""
    woven, seen = woven_of(quantity, unit, values)
    text = expected_text(seen[6], place(woven, 6, 5, 7))

    low, _, high = text.removesuffix(sign).partition(" to ")
    assert text.endswith(sign)
    assert Decimal(low) <= Decimal(values[6]) <= Decimal(high or low)
    assert Decimal(low).as_tuple().exponent == Decimal(values[6]).as_tuple().exponent


def test_the_values_that_are_likely() -> None:
    """The middle first, all together certain, with the decimals that the display has, though one was said without."""
    woven, seen = woven_of("trip", "km", ["0.1", "5.1", "10.1", "15.1", "20.1", "25.1", "30"])
    likely = likely_values(seen[4], place(woven, 4, 3, 6), None)

    assert "20.1" in {str(each.value) for each in likely}
    assert {1} == {-int(each.value.as_tuple().exponent) for each in likely}
    assert sum(each.chance for each in likely) == pytest.approx(1.0)
    assert [each.chance for each in likely] == sorted((each.chance for each in likely), reverse=True)


def test_the_times_that_are_likely() -> None:
    """The minute that the clock is known to show, and those beside it."""
    woven, seen = woven_of("clock", "min", ["420", "424"])
    likely = likely_values(seen[1], place(woven, 1, 0, None), clock_ahead_min=0.0)

    assert [-1, 0, 1] == sorted(int(each.value) - int(likely[0].value) for each in likely)
    assert sum(each.chance for each in likely) == pytest.approx(1.0)
    assert [] == likely_values(seen[1], place(woven, 1, 0, None), clock_ahead_min=None)


def test_where_nothing_is_expected() -> None:
    """No neighbours, a quantity without a course, a reading after that has no say."""
    woven, seen = woven_of("trip", "km", ["0.0", "5.0"])
    clock, times = woven_of("clock", "min", ["420", "424"])

    assert "" == expected_text(seen[1], place(woven, 1, None, None))
    assert "" == expected_text(seen[0], place(woven, 0, None, 1), beside_after=False)
    assert "" == expected_text(times[1], place(clock, 1, 0, None))


def test_nothing_used_at_all() -> None:
    """0 Wh/mi has no efficiency to compare; nothing is said."""
    woven, seen = woven_of("efficiency", "Wh/mi", ["0", "260", "262"])

    assert "" == expected_text(seen[1], place(woven, 1, 0, None))
    assert Surroundings(Drive(BEGAN, ""), nowhere, []).has_track is False
