"""The bundled sample drive, heard by the real recogniser, against the truth of what was said in it."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

import pytest
from command_line import CommandLine
from geographiclib.geodesic import Geodesic
from sample_drive import SaidInSample, truth

Row = dict[str, str]

_TIME_S = 0.3
_PLACE_M = 60.0
_SURE = frozenset({"accepted", "corrected"})
_TRUTH = truth()
_READINGS = tuple(said for said in _TRUTH if said.values is not None)
_STANDING = tuple(said for said in _READINGS if said.becomes is None)
_MISREAD = tuple(said for said in _STANDING if said.shown is not None)
_ORDINARY = tuple(said for said in _STANDING if said.shown is None)


@pytest.fixture(scope="module")
def rows(sample: Path, tmp_path_factory: pytest.TempPathFactory) -> list[Row]:
    """Every row of the log that the sample becomes, rejected ones too; only to be read."""
    done = CommandLine(tmp_path_factory.mktemp("nowhere"))("log", sample, "--format", "csv", "--all")
    assert done.returncode == 0, done.stderr
    return list(csv.DictReader(io.StringIO(done.stdout, newline="")))


def means(row: Row, said: SaidInSample) -> bool:
    """Whether a row has the quantity, the value and the unit that were said, and their time to a second."""
    same_time = abs(float(row["elapsed_s"]) - said.stands_s) < 1.0
    return same_time and (row["quantity"], row["value"], row["unit"]) == said.values


def sure_of(rows: Sequence[Row], said: SaidInSample) -> list[Row]:
    """Return the rows that are sure of the very thing said."""
    return [row for row in rows if row["status"] in _SURE and means(row, said)]


def turn_of(row: Row) -> int | None:
    """Return the turn in whose time a row lies, None for a moment of which nobody said anything."""
    at_s = float(row["elapsed_s"])
    for said in _TRUTH:
        turn = [other for other in _TRUTH if other.turn == said.turn]
        if turn[0].elapsed_s - 1.5 <= at_s <= turn[-1].ends_s + 0.5:
            return said.turn
    return None


def test_nine_in_ten_readings_are_accepted_as_said(rows: list[Row]) -> None:
    """At least 90 % of the readings that were said right, and stand, are accepted with what was said."""
    right = [said for said in _ORDINARY if sure_of(rows, said)]
    missing = [(said.elapsed_s, said.words, said.voice) for said in _ORDINARY if said not in right]

    assert 0.9 * len(_ORDINARY) <= len(right), (len(right), len(_ORDINARY), missing)


def test_nothing_accepted_is_wrong(rows: list[Row]) -> None:
    """No silent error: each accepted or corrected value is one that was said at that time."""
    wrong = [
        (row["entry_id"], row["quantity"], row["value"], row["unit"], row["heard"])
        for row in rows
        if row["status"] in _SURE and row["value"] and not any(means(row, said) for said in _READINGS)
    ]

    assert [] == wrong


def test_what_is_not_accepted_is_in_doubt(rows: list[Row]) -> None:
    """A reading that is not accepted as said has a flagged row in its turn, so a person is told."""
    doubted = {turn_of(row) for row in rows if row["status"] == "flagged"}

    silent = [said.words for said in _STANDING if not sure_of(rows, said) and said.turn not in doubted]

    assert [] == silent


def test_readings_have_the_time_of_their_first_word(rows: list[Row]) -> None:
    """An accepted reading is placed within 0.3 s of the true beginning of its first word."""
    off = {
        row["entry_id"]: float(row["elapsed_s"]) - said.stands_s
        for said in _ORDINARY
        for row in sure_of(rows, said)
    }

    assert off
    assert {} == {entry: seconds for entry, seconds in off.items() if abs(seconds) > _TIME_S}


def test_readings_have_the_place_where_the_car_was(rows: list[Row]) -> None:
    """An accepted reading lies within 60 m of where the car truly was (measured by geographiclib), in the tunnel too."""
    off = {}
    for said in _ORDINARY:
        if said.replaces_s is not None:
            continue  # its place is that of another reading, which is in the truth itself
        for row in sure_of(rows, said):
            line = Geodesic.WGS84.Inverse(
                said.lat_deg, said.lon_deg, float(row["lat_deg"]), float(row["lon_deg"])
            )
            off[row["entry_id"]] = line["s12"]

    assert off
    assert {} == {entry: metres for entry, metres in off.items() if metres > _PLACE_M}


def test_the_distance_driven_is_right(rows: list[Row]) -> None:
    """Between accepted readings, GPS distance and true distance differ by less than 1 % and 60 m."""
    pairs = [
        (float(row["gps_distance_km"]), said.driven_km)
        for said in _ORDINARY
        if said.replaces_s is None
        for row in sure_of(rows, said)
    ]
    first_gps, first_true = pairs[0]

    for gps_km, true_km in pairs:
        assert abs((gps_km - first_gps) - (true_km - first_true)) < 0.06 + 0.01 * (true_km - first_true)


def test_a_trip_said_ten_kilometres_too_high_is_in_doubt(rows: list[Row]) -> None:
    """The driver misreads the trip once and never notices: that row is flagged, with a reason."""
    (misread,) = _MISREAD
    there = [
        row
        for row in rows
        if row["quantity"] == "trip" and abs(float(row["elapsed_s"]) - misread.elapsed_s) < 1.0
    ]

    assert ["flagged"] == [row["status"] for row in there]
    assert there[0]["reason"]


def test_a_spoken_correction_replaces_what_was_said_wrong(rows: list[Row]) -> None:
    """The corrected value stands at the time of the wrong one, which stays as a rejected row."""
    (correction,) = (said for said in _READINGS if said.kind == "correction")
    charges = [
        row
        for row in rows
        if row["quantity"] == "charge" and abs(float(row["elapsed_s"]) - correction.stands_s) < 1.0
    ]

    assert {"corrected", "rejected"} == {row["status"] for row in charges}
    assert [correction.values] == [
        (row["quantity"], row["value"], row["unit"]) for row in charges if row["status"] == "corrected"
    ]


def test_a_struck_call_no_longer_stands(rows: list[Row]) -> None:
    """Every row of the call that was withdrawn is rejected."""
    struck = {said.turn for said in _READINGS if said.becomes == "withdrawn"}

    withdrawn = [row for row in rows if turn_of(row) in struck]

    assert withdrawn
    assert {"rejected"} == {row["status"] for row in withdrawn}


def test_notes_and_questions_are_in_the_log(rows: list[Row]) -> None:
    """Notes, the question and the strike have a row where they were said, or else that turn is in doubt; no others have.

    Measured: all but the question, heard as a reading that cannot be.
    """
    said = [
        (each.turn, each.words.removeprefix("checkpoint ").removeprefix("note "))
        for each in _TRUTH
        if each.kind == "command"
    ]

    logged = [
        (turn_of(row), row["note"].removeprefix("asked: ").split(";")[0])
        for row in rows
        if row["quantity"] == "note" and row["status"] == "accepted"
    ]

    doubted = {turn_of(row) for row in rows if row["status"] == "flagged"}
    missed = [each for each in said if each not in logged]
    assert [each for each in said if each not in missed] == logged
    assert len(missed) <= 1
    assert {turn for turn, _ in missed} <= doubted


def test_talk_gives_nothing_that_is_accepted(rows: list[Row]) -> None:
    """Other talk, with numbers in it, gives no accepted row."""
    talk = {said.turn for said in _TRUTH if said.kind == "talk"}

    taken = [
        (row["entry_id"], row["heard"]) for row in rows if turn_of(row) in talk and row["status"] in _SURE
    ]

    assert [] == taken
