"""The readings of a drive as strands, settled by what the drive itself teaches."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from called_drives import BEGAN, LANGUAGE, NANO, PlaceAt, nowhere, steady

from logger.core.evidence import Surroundings
from logger.core.rules import Facts, Mark
from logger.core.strands import Knot, Woven, strand_of, weave
from logger.model import Drive

FACTS = Facts({quantity.name: quantity for quantity in LANGUAGE.phrasebook.quantities})


def knots(
    around: Surroundings,
    quantity: str,
    unit: str,
    values: list[str | tuple[str, ...]],
    every_s: float = 200.0,
) -> list[Knot]:
    """Readings one after the other; of several values each is e^2 times as likely as the next."""
    made = []
    for number, each in enumerate(values):
        options = each if isinstance(each, tuple) else (each,)
        at_ns = round(number * every_s * NANO)
        made.append(
            Knot(
                at_ns,
                tuple(around.observe(quantity, Decimal(value), unit, at_ns) for value in options),
                tuple(-0.2 - 2.0 * rank for rank in range(len(options))),
                -6.0,
            )
        )
    return made


def around_with(place_at: PlaceAt = steady, length_s: float = 6_000.0) -> Surroundings:
    """A drive of some length."""
    return Surroundings(Drive(BEGAN, ""), place_at, [0, round(length_s * NANO)])


def believed(woven: Woven) -> list[str]:
    """The values of the readings."""
    taken = (woven.taken(index) for index in range(len(woven.knots)))
    return ["-" if each is None else str(each.value) for each in taken]


def test_a_strand_takes_in_the_track() -> None:
    """Way, speed and time of each reading; options it lacks are not there."""
    around = around_with()
    strand = strand_of("charge", knots(around, "charge", "%", ["80", ("79", "19")]), FACTS, around)

    assert [0.0, 5.0] == strand.km.tolist()
    assert [90.0, 90.0] == strand.gps_kmh.tolist()
    assert np.isnan(strand.base[0, 1])
    assert np.isneginf(strand.log_weight[0, 1])


def test_a_strand_takes_in_notes() -> None:
    """How often charging was noted, where the trip was reset, and whether the car still stood at the charger."""
    around = around_with()
    facts = Facts({}, {"charging": (Mark(150 * NANO, 3.75),), "trip reset": (Mark(300 * NANO, 7.5),)})
    strand = strand_of("trip", knots(around, "trip", "km", ["0", "5", "2.5"]), facts, around)

    assert [0.0, 1.0, 1.0] == strand.charged.tolist()
    assert [False, False, False] == strand.at_charger.tolist()
    assert [0.0, 0.0, 1.0] == strand.resets.tolist()
    assert pytest.approx(7.5) == strand.reset_km[2]


def test_a_misheard_trip_is_found_by_its_neighbours() -> None:
    """A wrong first option between true ones gives way to the one that fits."""
    around = around_with()
    values: list[str | tuple[str, ...]] = [f"{5.0 * number:.1f}" for number in range(12)]
    values[6] = ("13.0", "30.0")
    woven = weave({"trip": knots(around, "trip", "km", values)}, FACTS, around)["trip"]

    assert "30.0" == believed(woven)[6]
    assert woven.posterior.options[6, 1] > 0.99


def test_a_wheel_that_counts_too_much_is_learned() -> None:
    """Two percent over GPS: then a value off by four tenths is none of this drive's, though it was within any tolerance."""
    around = around_with()
    values: list[str | tuple[str, ...]] = [f"{5.1 * number:.1f}" for number in range(20)]
    values[10] = ("51.4", "51.0")
    woven = weave({"trip": knots(around, "trip", "km", values)}, FACTS, around)["trip"]

    assert pytest.approx(1.02, abs=0.003) == woven.course.slope
    assert "51.0" == believed(woven)[10]


def test_the_odometer_counts_the_same_wheels() -> None:
    """What the trip has taught holds for the odometer from its first step."""
    around = around_with()
    both = {
        "trip": knots(around, "trip", "km", [f"{5.1 * number:.1f}" for number in range(20)]),
        "odometer": knots(around, "odometer", "km", ["12000", ("12066", "12016")], every_s=2_600.0),
    }
    woven = weave(both, FACTS, around)

    assert pytest.approx(1.02, abs=0.004) == woven["odometer"].course.slope


def test_without_a_track_the_trip_says_how_far() -> None:
    """Charge goes along the dash's own way; a reset is a new beginning, not a way back."""
    around = around_with(nowhere)
    both = {
        "trip": knots(around, "trip", "km", ["0.0", "10.0", "20.0", "5.0", "15.0"]),
        "charge": knots(around, "charge", "%", ["80", "77", "74", "71", "68"]),
    }
    woven = weave(both, FACTS, around)

    assert not around.has_track
    assert pytest.approx(-0.3, abs=0.08) == woven["charge"].course.slope
    assert pytest.approx([0.0, 10.0, 20.0, 25.0, 35.0], abs=0.01) == woven["charge"].strand.km.tolist()


def test_values_beyond_the_sheets_limits_are_unlikely() -> None:
    """A charge of 120 % is hardly ever the truth."""
    around = around_with()
    woven = weave({"charge": knots(around, "charge", "%", [("120", "20")])}, FACTS, around)["charge"]

    assert ["20"] == believed(woven)


def test_what_is_known_saves_rounds() -> None:
    """A second weaving begins with what the first learned, and comes to the same."""
    around = around_with()
    made = {"trip": knots(around, "trip", "km", [f"{5.1 * number:.1f}" for number in range(20)])}
    first = weave(made, FACTS, around)
    second = weave(made, FACTS, around, first)

    assert pytest.approx(first["trip"].posterior.options, abs=1e-3) == second["trip"].posterior.options
    assert pytest.approx(first["trip"].course.slope, abs=1e-4) == second["trip"].course.slope


def test_a_quantity_nobody_thought_of() -> None:
    """It has a course so wide that its sound decides."""
    around = around_with()
    woven = weave({"wattage": knots(around, "wattage", "kWh", ["5", ("900", "6")])}, FACTS, around)["wattage"]

    assert 2 == len(believed(woven))
