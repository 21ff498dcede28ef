"""What makes drives not comparable: each bound from both sides, against the median of the others."""

from __future__ import annotations

import statistics
from pathlib import Path

import pytest
from compared import summary
from hypothesis import given
from hypothesis import strategies as st

from logger.core.comparing.flags import (
    BOUNDS,
    COLDEST_C,
    MOST_APART,
    MOST_CLIMB_M,
    MOST_WIND_KMH,
    WARMEST_C,
    flag_text,
    flags_of,
)


def kinds(*conditions: dict[str, object]) -> list[list[str]]:
    """The kinds of flags of drives that differ from each other in these conditions."""
    return [[flag.kind for flag in flags] for flags in flags_of([summary(**each) for each in conditions])]  # type: ignore[arg-type]


def test_drives_alike_compare() -> None:
    """Nothing is said against drives under the same conditions, nor against one alone."""
    assert [[], [], []] == kinds({}, {}, {})
    assert [[]] == kinds({})
    assert () == flags_of([])


@pytest.mark.parametrize(
    ("kind", "condition", "near", "far"),
    [
        ("temperature", "temperature_c", 20.0, 20.1),
        ("wind", "wind_kmh", 0.0, -2.1),
        ("speed", "speed_kmh", 112.0, 112.1),
        ("speed", "speed_kmh", 108.0, 107.9),
        ("start", "start_pct", 98.0, 97.0),
        ("usable", "usable_kwh", 60.6, 60.7),
    ],
)
def test_each_bound(kind: str, condition: str, near: float, far: float) -> None:
    """At the bound nothing is said; beyond it, of the one that differs, and not of those that agree with each other."""
    assert [[], [], []] == kinds({}, {}, {condition: near})
    assert [[], [], [kind]] == kinds({}, {}, {condition: far})


def test_two_are_held_against_each_other() -> None:
    """With two drives the difference between them counts, not half of it, and both are named."""
    assert [["temperature"], ["temperature"]] == kinds({}, {"temperature_c": 21.0})
    assert [[], []] == kinds({}, {"temperature_c": 20.0})


@pytest.mark.parametrize(
    ("kind", "near", "far"),
    [
        ("doubts", {"doubts": 0}, {"doubts": 1}),
        ("charging", {}, {"charged": "the charge rises by 5 points"}),
        ("loop", {"apart_km": 4.0}, {"apart_km": 4.1}),
        ("climb", {"climb_m": -30.0}, {"climb_m": -31.0}),
        ("windy", {"wind_kmh": 16.0}, {"wind_kmh": 16.1}),
        ("weather", {"temperature_c": 5.0}, {"temperature_c": 4.9}),
        ("weather", {"temperature_c": 35.0}, {"temperature_c": 35.1}),
    ],
)
def test_what_is_asked_of_a_drive_alone(kind: str, near: dict[str, object], far: dict[str, object]) -> None:
    """Some things no other drive makes better."""
    assert [[]] == kinds(near)
    assert [[kind]] == kinds(far)


def test_other_tyres() -> None:
    """The one that differs from most is named; of two, both; one that tells nothing is named where others do."""
    other, none = {"tyres": "tyres winter 18"}, {"tyres": None}

    assert [[], [], ["tyres"]] == kinds({}, {}, other)
    assert [["tyres"], ["tyres"]] == kinds({}, other)
    assert [[], [], ["tyres"], [], ["tyres"]] == kinds({}, {}, other, {}, other)
    assert [[], ["tyres"]] == kinds({}, none)
    assert [[], []] == kinds(none, none)


def test_distances_by_a_meter() -> None:
    """Distances by the car's own meter are named beside others by GPS, or by another meter; where all are alike, none is."""
    trip, odometer, nothing = {"ruler": "trip"}, {"ruler": "odometer"}, {"ruler": ""}

    assert [[], ["meter"], []] == kinds({}, trip, {})
    assert [["meter"], ["meter"], []] == kinds(trip, odometer, nothing)
    assert [[], [], []] == kinds(trip, trip, nothing)


def test_what_is_not_known_is_said_where_others_know_it() -> None:
    """A drive without a temperature may differ by anything; where no drive has one, there is nothing to compare."""
    assert [[], ["temperature"]] == kinds({}, {"temperature_c": None})
    assert [[], []] == kinds({"temperature_c": None}, {"temperature_c": None})


def test_a_sentence_has_the_numbers_and_the_bound() -> None:
    """In kilometres and in miles; a difference of percents is in points."""
    cold, slow, part, open_ = (
        flags_of([summary(), summary(), summary(**each)])[2][0]  # type: ignore[arg-type]
        for each in (
            {"temperature_c": 4.0 + 5},
            {"speed_kmh": 100.0},
            {"start_pct": 90.0},
            {"apart_km": 16.09344},
        )
    )

    assert (
        "the air outside differs: 9.0 degC here, 15.0 degC with the others, 6.0 degC apart and not within 5.0 degC"
        == flag_text(cold, "km")
    )
    assert (
        "the GPS speed differs: 62.1 mph here, 68.4 mph with the others, 6.2 mph apart and not within 1.2 mph"
        == flag_text(slow, "mi")
    )
    assert "10.0 points apart and not within 2.0 points" in flag_text(part, "km")
    assert "it did not end where it began: 10.0 mi, more than 2.5 mi" == flag_text(open_, "mi")


def test_the_page_has_every_bound_and_its_source() -> None:
    """docs/compare.md says what the program does."""
    page = (Path(__file__).parents[4] / "docs" / "compare.md").read_text("utf-8")
    units = {"%": "points"}
    for kind, bound in BOUNDS.items():
        (line,) = [each for each in page.splitlines() if each.startswith(f"| `{kind}` |")]
        told = (
            f"{bound.most:.0%}".replace("%", " %")
            if bound.relative
            else f"{bound.most:g} {units.get(bound.unit, bound.unit)}"
        )
        assert f"| {told} | {bound.source} |" in line
    for told in (
        f"{MOST_WIND_KMH:g} km/h",
        f"{COLDEST_C:g} to {WARMEST_C:g} degC",
        f"{MOST_CLIMB_M:g} m",
        f"{MOST_APART:.0%}".replace("%", " %"),
    ):
        assert f"| {told}" in page


@given(st.lists(st.floats(-20.0, 45.0), min_size=2, max_size=30))
def test_the_others_are_all_but_this_one(values: list[float]) -> None:
    """Whatever the values: a flag is there exactly where Python's own median of the others is farther than the bound."""
    found = flags_of([summary(temperature_c=each) for each in values])

    for place, value in enumerate(values):
        others = statistics.median(values[:place] + values[place + 1 :])
        flags = [flag for flag in found[place] if flag.kind == "temperature"]
        if abs(abs(value - others) - BOUNDS["temperature"].most) > 1e-6:
            assert (abs(value - others) > BOUNDS["temperature"].most) == bool(flags)
        assert all(pytest.approx(others) == flag.others for flag in flags)
