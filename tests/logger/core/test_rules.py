"""The plausibility rules: each passes, doubts and fails what it should, and says why with the numbers.

The tolerances are ours. Units are checked against pint, which has its own definitions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import pint
import pytest
from called_drives import BEGAN, NANO

from grammar import default_quantities
from logger.core.rules import (
    RULES,
    Context,
    Facts,
    Mark,
    Moment,
    Observation,
    Outcome,
    Rule,
    Verdict,
    judge,
    observe,
    rules_page,
    worse,
)
from logger.model import Place

PASS, DOUBT, FAIL = Outcome.PASS, Outcome.DOUBT, Outcome.FAIL
RULE = {rule.name: rule for rule in RULES}
QUANTITIES = {quantity.name: quantity for quantity in default_quantities("metric")}
FACTS = Facts(QUANTITIES)


def seen(  # a reading and where it was made
    quantity: str,
    said: str,
    at_s: float = 0.0,
    *,
    km: float | None = None,
    speed_kmh: float | None = None,
    lon_deg: float = 0.0,
    unseen_s: float = 0.0,
) -> Observation:
    """A reading such as "97.2 mi", some seconds after the drive began and `km` along the track (None: no GPS)."""
    value, unit = said.split()
    place = None
    if km is not None:
        place = Place(45.0, lon_deg, km * 1000.0, None if speed_kmh is None else speed_kmh / 3.6, 1.0)
    at_ns = round(at_s * NANO)
    return observe(quantity, Decimal(value), unit, Moment.of(at_ns, BEGAN + at_ns, place, unseen_s))


def beside(earlier: Observation, later: Observation, facts: Facts = FACTS) -> tuple[Verdict, Verdict]:
    """What all rules say of a step: of its later end, and of its earlier end."""
    return (
        judge(later, Context(facts, before=earlier)),
        judge(earlier, Context(facts, after=later)),
    )


@dataclass(frozen=True)
class Step:
    """A row: a rule, a step of a quantity over some km and minutes, and the rule's word."""

    rule: str
    quantity: str
    earlier: str
    later: str
    km: float | None
    minutes: float
    outcome: Outcome


STEPS = [
    Step("charge_never_rises", "charge", "63 %", "63 %", 5, 4, PASS),
    Step("charge_never_rises", "charge", "63 %", "62 %", 5, 4, PASS),
    Step("charge_never_rises", "charge", "63 %", "65 %", 5, 4, DOUBT),
    Step("charge_never_rises", "charge", "63 %", "66 %", 5, 4, FAIL),
    Step("charge_falls_with_distance", "charge", "63 %", "58 %", 5, 4, PASS),
    Step("charge_falls_with_distance", "charge", "63 %", "55 %", 5, 4, DOUBT),
    Step("charge_falls_with_distance", "charge", "63 %", "16 %", 5, 4, FAIL),
    Step("charge_falls_with_distance", "charge", "63 %", "55 %", None, 4, PASS),
    Step("distance_never_falls", "trip", "97.2 km", "97.2 km", 0, 1, PASS),
    Step("distance_never_falls", "trip", "97.2 km", "97.1 km", 0, 1, DOUBT),
    Step("distance_never_falls", "trip", "97.2 km", "79.2 km", 0, 1, FAIL),
    Step("distance_never_falls", "odometer", "1000 mi", "999 mi", 0, 1, DOUBT),
    Step("distance_never_falls", "odometer", "1000 mi", "900 mi", 0, 1, FAIL),
    Step("distance_never_falls", "trip", "97.2 mi", "156.4 km", 0, 1, PASS),
    Step("distance_agrees_with_gps", "trip", "77.6 mi", "79.2 mi", 2.5, 2, PASS),
    Step("distance_agrees_with_gps", "trip", "10.0 km", "16.8 km", 5, 4, DOUBT),
    Step("distance_agrees_with_gps", "trip", "77.6 mi", "97.2 mi", 12.2, 9, FAIL),
    Step("distance_agrees_with_gps", "trip", "10.0 km", "10.0 km", 50, 40, FAIL),
    Step("distance_agrees_with_gps", "trip", "10.0 km", "114.0 km", 100, 70, PASS),
    Step("distance_agrees_with_gps", "odometer", "1000 km", "1006 km", 5, 4, PASS),
    Step("distance_agrees_with_gps", "odometer", "1000 km", "1060 km", 5, 4, FAIL),
    Step("distance_agrees_with_gps", "trip", "10.0 km", "20.0 km", None, 10, PASS),
    Step("distance_agrees_with_gps", "trip", "10.0 km", "70.0 km", None, 10, DOUBT),
    Step("distance_agrees_with_gps", "trip", "10.0 km", "510.0 km", None, 10, FAIL),
    Step("energy_never_falls", "energy_used", "10.1 kWh", "10.1 kWh", 1, 1, PASS),
    Step("energy_never_falls", "energy_used", "10.1 kWh", "9.8 kWh", 1, 1, DOUBT),
    Step("energy_never_falls", "energy_used", "10.1 kWh", "9.1 kWh", 1, 1, FAIL),
    Step("energy_rises_with_distance", "energy_used", "10.1 kWh", "11.1 kWh", 5, 4, PASS),
    Step("energy_rises_with_distance", "energy_used", "10.1 kWh", "15.1 kWh", 5, 4, DOUBT),
    Step("energy_rises_with_distance", "energy_used", "10.1 kWh", "70.1 kWh", 5, 4, FAIL),
    Step("range_follows_distance", "range_left", "209 km", "204 km", 5, 4, PASS),
    Step("range_follows_distance", "range_left", "209 km", "270 km", 5, 4, DOUBT),
    Step("range_follows_distance", "range_left", "209 km", "29 km", 5, 4, FAIL),
    Step("range_follows_distance", "range_left", "209 km", "204 km", None, 4, PASS),
    Step("temperature_changes_slowly", "outside_temperature", "14 degC", "17 degC", 5, 4, PASS),
    Step("temperature_changes_slowly", "outside_temperature", "14 degC", "22 degC", 5, 4, DOUBT),
    Step("temperature_changes_slowly", "outside_temperature", "14 degC", "40 degC", 5, 4, FAIL),
    Step("temperature_changes_slowly", "battery_temperature", "14 degC", "57 degF", 5, 4, PASS),
]


@pytest.mark.parametrize("row", STEPS, ids=lambda row: f"{row.rule}: {row.earlier} to {row.later}")
def test_steps(row: Step) -> None:
    """A step passes, is doubted or fails, and is judged alike from either end."""
    start_km = None if row.km is None else 20.0
    earlier = seen(row.quantity, row.earlier, 600.0, km=start_km)
    end_km = None if row.km is None else 20.0 + row.km
    later = seen(row.quantity, row.later, 600.0 + 60.0 * row.minutes, km=end_km)
    rule = RULE[row.rule]

    from_later = rule.check(later, Context(FACTS, before=earlier))
    from_earlier = rule.check(earlier, Context(FACTS, after=later))

    assert (row.outcome, row.outcome) == (from_later.outcome, from_earlier.outcome)
    assert {row.rule} == {from_later.rule, from_earlier.rule}
    for verdict in (from_later, from_earlier):
        assert (row.outcome is PASS) == (not verdict.message)


ALONE = [
    ("within_limits", seen("charge", "100 %"), PASS),
    ("within_limits", seen("outside_temperature", "104 degF"), PASS),
    ("within_limits", seen("outside_temperature", "61 degC"), DOUBT),
    ("within_limits", seen("outside_temperature", "-40 degC"), PASS),
    ("within_limits", seen("outside_temperature", "-51 degF"), PASS),
    ("within_limits", seen("outside_temperature", "-59 degF"), DOUBT),
    ("within_limits", seen("outside_temperature", "151 degF"), FAIL),
    ("within_limits", seen("outside_temperature", "-99 degC"), FAIL),
    ("within_limits", seen("clock", "1439 min"), PASS),
    ("efficiency_is_possible", seen("efficiency", "3.4 mi/kWh"), PASS),
    ("efficiency_is_possible", seen("efficiency", "18.2 kWh/100km"), PASS),
    ("efficiency_is_possible", seen("efficiency", "20.0 km/kWh"), DOUBT),
    ("efficiency_is_possible", seen("efficiency", "0.0 mi/kWh"), FAIL),
    ("efficiency_is_possible", seen("efficiency", "0 Wh/km"), FAIL),
    ("efficiency_is_possible", seen("efficiency", "9 Wh/mi"), FAIL),
    ("speed_agrees_with_gps", seen("indicated_speed", "67 mph", km=1, speed_kmh=104), PASS),
    ("speed_agrees_with_gps", seen("indicated_speed", "67 mph", km=1, speed_kmh=90), DOUBT),
    ("speed_agrees_with_gps", seen("indicated_speed", "16 mph", km=1, speed_kmh=104), FAIL),
    ("speed_agrees_with_gps", seen("indicated_speed", "16 mph", km=1), PASS),
    ("speed_agrees_with_gps", seen("indicated_speed", "16 mph"), PASS),
    # the drive began at 07:00 UTC
    ("clock_agrees_with_gps", seen("clock", "421 min", 60), PASS),
    ("clock_agrees_with_gps", seen("clock", "540 min", km=0, lon_deg=24.0), PASS),
    ("clock_agrees_with_gps", seen("clock", "428 min"), DOUBT),
    ("clock_agrees_with_gps", seen("clock", "1140 min", km=0), FAIL),
]


@pytest.mark.parametrize(("rule", "observed", "outcome"), ALONE)
def test_values_alone(rule: str, observed: Observation, outcome: Outcome) -> None:
    """A value by itself passes, is doubted or fails."""
    verdict = RULE[rule].check(observed, Context(FACTS))

    assert (rule, outcome) == (verdict.rule, verdict.outcome)
    assert (outcome is PASS) == (not verdict.message)


def test_every_rule_has_its_three_rows() -> None:
    """Each rule is shown to pass something, to doubt something and to fail something."""
    shown = {(row.rule, row.outcome) for row in STEPS} | {(rule, outcome) for rule, _, outcome in ALONE}

    assert {(rule.name, outcome) for rule in RULES for outcome in Outcome} == shown


def test_the_reason_names_the_rule_and_the_numbers() -> None:
    """The sentence of issue 3: how far off GPS the value would be, and since which reading."""
    later, earlier = beside(seen("trip", "77.6 mi", km=10.0), seen("trip", "97.2 mi", 600, km=22.2))

    # (97.2 - 77.6) * 1.609344 = 31.543 km; less 12.2 km driven is 19.3 km
    assert "97.2 mi would be 19.3 km more than GPS drove since 77.6 mi" == later.message
    assert "from 77.6 mi to 97.2 mi would be 19.3 km more than GPS drove" == earlier.message


def test_the_reasons_of_a_charge() -> None:
    """Each end of a step is told from its own side."""
    later, earlier = beside(seen("charge", "60 %", km=0), seen("charge", "80 %", 600, km=5))

    assert "80 % is 20 % more than the 60 % before, and no charging was noted" == later.message
    assert "60 % is 20 % less than the 80 % read later, and no charging was noted" == earlier.message


@pytest.mark.parametrize("kind", ["charging", "unplugged"])
def test_noted_charging_lifts_the_rise(kind: str) -> None:
    """A charge may rise, and a range, where charging was noted in between."""
    facts = Facts(QUANTITIES, {kind: (Mark(300 * NANO, 5.0),)})

    for quantity, earlier, later in (("charge", "20 %", "80 %"), ("range_left", "50 km", "300 km")):
        for verdict in beside(seen(quantity, earlier, km=0), seen(quantity, later, 600, km=5), facts):
            assert PASS is verdict.outcome


def test_charging_counts_until_the_car_has_gone_on() -> None:
    """Readings at the charger after the note may rise; once the car has driven on they may not."""
    facts = Facts(QUANTITIES, {"charging": (Mark(0, 5.0),)})

    at_charger = beside(seen("charge", "20 %", 60, km=5.0), seen("charge", "50 %", 1800, km=5.0), facts)
    gone_on = beside(seen("charge", "20 %", 600, km=8.0), seen("charge", "50 %", 1800, km=9.0), facts)

    assert [PASS, PASS] == [verdict.outcome for verdict in at_charger]
    assert [FAIL, FAIL] == [verdict.outcome for verdict in gone_on]


def test_charging_noted_elsewhere_lifts_nothing() -> None:
    """A note after both readings is not about them."""
    facts = Facts(QUANTITIES, {"charging": (Mark(900 * NANO, 5.0),)})

    assert FAIL is beside(seen("charge", "20 %", km=0), seen("charge", "80 %", 600, km=5), facts)[0].outcome


@pytest.mark.parametrize(
    ("later", "km", "outcome"),
    [("3.0 km", 23.0, PASS), ("1.0 km", 23.0, DOUBT), ("30.0 km", 23.0, FAIL), ("3.0 km", None, PASS)],
)
def test_a_noted_trip_reset_starts_from_zero(later: str, km: float | None, outcome: Outcome) -> None:
    """After it the trip is what GPS drove since (here 3 km), and not what it was before."""
    facts = Facts(QUANTITIES, {"trip reset": (Mark(100 * NANO, 20.0),)})

    verdicts = beside(seen("trip", "97.2 km", km=15.0), seen("trip", later, 400, km=km), facts)

    assert [outcome, outcome] == [verdict.outcome for verdict in verdicts]


def test_a_trip_reset_does_not_turn_back_the_odometer() -> None:
    """The odometer cannot be reset."""
    facts = Facts(QUANTITIES, {"trip reset": (Mark(100 * NANO, 20.0),)})

    assert FAIL is beside(seen("odometer", "900 km"), seen("odometer", "3 km", 400), facts)[0].outcome


def test_distance_that_no_receiver_saw_is_allowed_for() -> None:
    """Ten minutes without GPS may hide 20 km."""
    earlier = seen("trip", "10.0 km", km=10.0)

    blind = beside(earlier, seen("trip", "30.0 km", 700, km=15.0, unseen_s=600.0))[0]
    watched = beside(earlier, seen("trip", "30.0 km", 700, km=15.0))[0]

    assert (PASS, FAIL) == (blind.outcome, watched.outcome)


@pytest.mark.parametrize(
    ("ahead", "clock", "outcome"),
    [
        (127.0, "547 min", PASS),
        (127.0, "550 min", PASS),
        (127.0, "552 min", DOUBT),
        (127.0, "1267 min", FAIL),
    ],
)
def test_a_learned_clock(ahead: float, clock: str, outcome: Outcome) -> None:
    """What most readings say of the clock counts, also when it is no time zone's: here 2 h 7 min ahead of 07:00."""
    facts = Facts(QUANTITIES, clock_ahead_min=ahead)

    assert outcome is judge(seen("clock", clock), Context(facts)).outcome


@pytest.mark.parametrize(
    ("value", "unit", "to"),
    [
        ("97.2", "mi", "km"),
        ("67", "mph", "km/h"),
        ("44", "degF", "degC"),
        ("3.4", "mi/kWh", "km/kWh"),
        ("295", "Wh/mi", "km/kWh"),
        ("18.2", "kWh/100km", "km/kWh"),
    ],
)
def test_values_are_compared_in_one_unit(value: str, unit: str, to: str) -> None:
    """The unit that rules compare in is right by pint."""
    units = pint.UnitRegistry()
    names = {"mph": "mile/hour", "km/h": "km/hour", "degF": "degF", "degC": "degC"}
    names |= {"mi/kWh": "mile/kWh", "kWh/100km": "kWh/km", "Wh/mi": "Wh/mile"}
    scale = 0.01 if unit == "kWh/100km" else 1.0
    said = units.Quantity(float(value) * scale, names.get(unit, unit))
    if unit in {"Wh/mi", "kWh/100km"}:
        said = 1 / said
    expected = said.to(names.get(to, to)).magnitude

    assert pytest.approx(expected) == seen("trip", f"{value} {unit}").base


def test_a_place_that_is_no_number_is_no_place() -> None:
    """A track with NaN in it judges nothing and breaks nothing."""
    lost = Place(math.nan, math.nan, math.nan, math.nan, math.nan)
    for quantity, said in (("trip", "9.0 km"), ("indicated_speed", "67 mph"), ("clock", "425 min")):
        value, unit = said.split()
        observed = observe(quantity, Decimal(value), unit, Moment.of(5 * NANO, BEGAN + 5 * NANO, lost))

        assert judge(observed, Context(FACTS, before=seen(quantity, said, km=3.0))).outcome in Outcome


def test_the_worst_verdict_counts() -> None:
    """A failed rule outweighs doubts and passes, and the first of equals is kept."""
    doubt, fail = Verdict("a", DOUBT, "d"), Verdict("b", FAIL, "f")

    assert fail == worse(doubt, fail) == worse(fail, doubt)
    assert doubt == worse(doubt, Verdict("c", DOUBT, "e"))


def test_rules_are_about_what_they_say() -> None:
    """A rule of one quantity is not asked about another."""

    def never(_observed: Observation, _context: Context) -> Verdict:
        """Nothing is right."""
        return Verdict("never", FAIL, "no")

    rules = (Rule(never, frozenset({"trip"})),)

    assert FAIL is judge(seen("trip", "1 km"), Context(FACTS), rules).outcome
    assert PASS is judge(seen("odometer", "1 km"), Context(FACTS), rules).outcome


def test_the_page_is_up_to_date() -> None:
    """docs/rules.md is what the docstrings say, and each rule has one."""
    page = Path(__file__).parents[3] / "docs" / "rules.md"

    assert all(rule.sentence.endswith(".") for rule in RULES)
    assert rules_page() == page.read_text("utf-8")


def test_a_decimal_said_is_half_a_step_less() -> None:
    """50.0 km is told ten times as finely as 50 km, whichever was asked for first."""
    steps = [
        observe("trip", Decimal(value), "km", Moment.of(0, 0, None)).half_step
        for value in ("50", "50.0", "50", "50.00")
    ]

    assert pytest.approx([0.5, 0.05, 0.5, 0.005]) == steps
