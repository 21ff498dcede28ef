"""How the benchmark of reconciling judges and counts, on cases made by hand."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Sequence
from decimal import Decimal

import pytest
from rehearsed.baselines import as_entries
from rehearsed.judging import Judged, align, judge_drive
from rehearsed.open_words import parsed
from rehearsed.plotting import reliability_svg
from rehearsed.records import RehearsedCall, RehearsedDrive, SaidReading
from rehearsed.shares import interval
from rehearsed.tallying import Bin, Tally, binned, tally

from logger.model import Alternative, Entry, Origin, Status

CHARGE = SaidReading("charge", "63", "%")
TRIP = SaidReading("trip", "97.2", "mi")
RISEN = SaidReading("charge", "80", "%", "charged")


def drive(*calls: Sequence[SaidReading]) -> RehearsedDrive:
    """Return a drive in which these were said, call by call."""
    said = tuple(
        RehearsedCall(60.0 * number, 3.0, "", "call", tuple(readings), (), ())
        for number, readings in enumerate(calls)
    )
    return RehearsedDrive("by hand", "tuning", 1, "miles", "", 10.0, "", said)


def entry(
    entry_id: str,
    quantity: str,
    value: str | None,
    unit: str,
    *,
    status: Status = Status.ACCEPTED,
    confidence: float = 0.995,
    others: Sequence[tuple[str, float]] = (),
) -> Entry:
    """Return an entry; `others` are its alternatives' values and confidences."""
    return Entry(
        id=entry_id,
        utterance_id=int(entry_id.partition("-")[0]),
        at_ns=0,
        quantity=quantity,
        value=None if value is None else Decimal(value),
        unit=unit,
        status=status,
        confidence=confidence,
        origin=Origin.HEARD,
        heard="",
        note="",
        reason="",
        alternatives=tuple(Alternative(Decimal(each), unit, "", chance) for each, chance in others),
    )


def judged(
    said: Sequence[SaidReading], entries: Sequence[Entry], first: Sequence[SaidReading]
) -> list[Judged]:
    """Judge one call."""
    return judge_drive(drive(said), entries, [first])


def test_what_is_right_is_right() -> None:
    """Values are compared as numbers: 97.20 is 97.2."""
    found = judged(
        [CHARGE, TRIP],
        [entry("1-1", "charge", "63", "%"), entry("1-2", "trip", "97.20", "mi")],
        [CHARGE, TRIP],
    )
    assert [(each.right, each.taken, each.rank, each.first_right) for each in found] == [
        (True, True, 1, True)
    ] * 2


@pytest.mark.parametrize(
    "wrong",
    [
        entry("1-1", "charge", "53", "%"),
        entry("1-1", "trip", "63", "mi"),
        entry("1-1", "charge", "53", "%", status=Status.CORRECTED),
    ],
)
def test_an_accepted_entry_that_is_not_what_was_said_is_a_silent_error(wrong: Entry) -> None:
    """Whatever is wrong about it, and a spoken correction counts like the rest."""
    counted = tally(judged([CHARGE], [wrong], [CHARGE]), 1)
    assert (counted.accepted, counted.silent, counted.silent_drives) == (1, 1, 1)


def test_another_unit_is_a_silent_error() -> None:
    """97.2 km is not 97.2 miles."""
    counted = tally(judged([TRIP], [entry("1-1", "trip", "97.2", "km")], [TRIP]), 1)
    assert (counted.silent, counted.missing, counted.of_nothing) == (1, 0, 0)


def test_a_repair_is_an_accepted_truth_that_was_not_heard_first() -> None:
    """And not every accepted truth is one."""
    right = [entry("1-1", "charge", "63", "%")]
    assert tally(judged([CHARGE], right, [SaidReading("charge", "53", "%")]), 1).repaired == 1
    assert tally(judged([CHARGE], right, []), 1).repaired == 1
    assert tally(judged([CHARGE], right, [CHARGE]), 1).repaired == 0


def test_readings_without_an_entry_are_missing_and_entries_of_nothing_are_errors_when_accepted() -> None:
    """The charge is told from the trip that was not said."""
    found = judged([CHARGE], [entry("1-1", "charge", "63", "%"), entry("1-2", "trip", "9.1", "mi")], [CHARGE])
    counted = tally(found, 1)
    assert (counted.said, counted.missing, counted.of_nothing) == (1, 0, 1)
    assert (counted.accepted, counted.accepted_of_nothing, counted.silent) == (2, 1, 1)
    counted = tally(judged([CHARGE, TRIP], [entry("1-1", "trip", "97.2", "mi")], [CHARGE, TRIP]), 1)
    assert (counted.said, counted.missing, counted.of_nothing, counted.silent) == (2, 1, 0, 0)
    assert counted.shares()["accepted of said"] == (1, 2)


def test_notes_and_what_was_withdrawn_are_not_judged() -> None:
    """A rejected entry takes its reading with it."""
    entries = [entry("1-1", "charge", "53", "%", status=Status.REJECTED), entry("2-1", "note", None, "")]
    assert judge_drive(drive([CHARGE], []), entries, [[CHARGE], []]) == []


def test_a_surprise_is_asked_about_kept_or_replaced() -> None:
    """What was heard right and accepted is kept; another value accepted in its place is the worst of all."""
    other = [("80", 0.02)]
    ways = {
        "asked": entry("1-1", "charge", "80", "%", status=Status.FLAGGED),
        "asked, other value": entry("1-1", "charge", "60", "%", status=Status.FLAGGED, others=other),
        "kept": entry("1-1", "charge", "80", "%"),
        "replaced": entry("1-1", "charge", "60", "%", others=other),
    }
    counts = [tally(judged([RISEN], [each], [RISEN]), 1) for each in ways.values()]
    assert [c.surprises for c in counts] == [1] * 4
    assert [c.surprises_asked for c in counts] == [1, 1, 0, 0]
    assert [c.surprises_kept for c in counts] == [0, 0, 1, 0]
    assert [c.surprises_replaced for c in counts] == [0, 0, 0, 1]


@pytest.mark.parametrize(
    ("value", "confidence", "others", "rank"),
    [
        ("63", 0.6, [("53", 0.3)], 1),
        ("53", 0.6, [("63", 0.3), ("73", 0.1)], 2),
        ("53", 0.2, [("63", 0.7)], 1),
        ("53", 0.4, [("63", 0.4)], 2),
        ("53", 0.1, [("43", 0.4), ("73", 0.3), ("63", 0.05)], 4),
        ("53", 0.6, [("43", 0.3)], 0),
    ],
)
def test_the_rank_of_the_truth_goes_by_probability(
    value: str, confidence: float, others: list[tuple[str, float]], rank: int
) -> None:
    """The entry's own value is one of the ways, and comes first among equals."""
    flagged = entry("1-1", "charge", value, "%", status=Status.FLAGGED, confidence=confidence, others=others)
    found = judged([CHARGE], [flagged], [CHARGE])
    assert [each.rank for each in found] == [rank]
    counted = tally(found, 1)
    assert (counted.flagged, counted.flagged_first, counted.flagged_three) == (1, rank == 1, 1 <= rank <= 3)


def test_a_call_that_was_not_understood_is_flagged_without_a_suggestion() -> None:
    """It stands for one of the readings said, the others are missing."""
    unheard = entry("1-1", "unheard", None, "", status=Status.FLAGGED, confidence=0.0)
    counted = tally(judged([CHARGE, TRIP], [unheard], []), 1)
    assert (counted.flagged, counted.flagged_three, counted.missing, counted.of_nothing) == (1, 0, 1, 0)
    assert sum(each.count for each in counted.bins.bins) == 0


def test_readings_are_laid_beside_entries_in_order() -> None:
    """The cheapest way: a wrong value before a wrong quantity, and nothing crosses."""
    found = [("trip", Decimal("97.2"), "mi"), ("charge", Decimal(63), "%")]
    assert align([CHARGE, TRIP], found) in ([1, None], [None, 0])
    assert align([CHARGE, TRIP], [("charge", Decimal(53), "%"), ("trip", Decimal("97.2"), "mi")]) == [0, 1]
    assert align([CHARGE], []) == [None]


def test_confidences_fall_into_bins_and_tallies_add_up() -> None:
    """An edge belongs to the bin that it begins."""
    pairs = [(0.2, False), (0.5, True), (0.99, True), (0.9989, False), (0.999, True), (1.0, True)]
    bins = binned((entry("1-1", "charge", "63", "%", confidence=chance), right) for chance, right in pairs)
    assert [each.count for each in bins.bins] == [1, 1, 0, 2, 2]
    assert [each.right for each in bins.bins] == [0, 1, 0, 1, 2]
    both = Tally(said=2, processor_s=0.5, bins=bins) + Tally(said=3, processor_s=0.25, bins=bins)
    assert (both.said, both.processor_s) == (5, 0.75)
    assert both.bins.bins[0] == Bin(2, 0.4, 0)


def test_wilson_intervals_are_those_of_the_formula() -> None:
    """No error in 100 may still be 3.7 %; half of 10 is anything from a quarter to three quarters."""
    assert interval(0, 100) == pytest.approx((0.0, 0.0370), abs=1e-4)
    assert interval(5, 10) == pytest.approx((0.2366, 0.7634), abs=1e-4)


def test_the_number_parser_reads_what_is_said_plainly() -> None:
    """In pairs, digit by digit, below zero, and where two numbers meet."""
    said = "check point sixty three percent one oh four point seven miles odometer twelve four twenty one"
    assert parsed(said, "miles") == [
        SaidReading("charge", "63", "%"),
        SaidReading("trip", "104.7", "mi"),
        SaidReading("odometer", "12421", "mi"),
    ]
    said = "trip ninety seven and a half three oh five kilometers left outside minus four degrees time half past nine p m"
    assert parsed(said, "metric") == [
        SaidReading("trip", "97.5", "km"),
        SaidReading("range_left", "305", "km"),
        SaidReading("outside_temperature", "-4", "degC"),
        SaidReading("clock", "1290", "min"),
    ]
    assert parsed("but he was in with the same", "miles") == []


def test_a_baseline_flags_what_it_did_not_understand() -> None:
    """Readings are accepted as they are."""
    found = as_entries(drive([CHARGE], [TRIP]), [[CHARGE], []], [False, True])
    assert [(each.id, each.quantity, each.status) for each in found] == [
        ("1-1", "charge", Status.ACCEPTED),
        ("2-1", "unheard", Status.FLAGGED),
    ]


def test_the_reliability_plot_is_drawn() -> None:
    """Well-formed, with a point for each bin that has entries, and inside its frame."""
    bins = binned((entry("1-1", "charge", "63", "%", confidence=chance), True) for chance in (0.3, 0.7, 1.0))
    drawn = ET.fromstring(reliability_svg({"10 dB": bins, "5 dB": bins}, "by hand"))
    width, height = float(drawn.attrib["width"]), float(drawn.attrib["height"])
    circles = [each for each in drawn.iter() if each.tag.endswith("circle")]
    assert len(circles) == 2 * 3 + 2
    assert all(0 < float(each.attrib["cx"]) < width for each in circles)
    assert all(0 < float(each.attrib["cy"]) < height for each in circles)
