"""The rehearsed drives of the kit: physics by hand, a dash that only counts up, records and composed drives."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from rehearsed.bank import Bank, BankItem, Wanted, load_bank, save_bank, wanted
from rehearsed.caller import planned
from rehearsed.car import Car, air_kg_m3, outing_of, road_load_n
from rehearsed.dash import Dash
from rehearsed.departures import departure_of
from rehearsed.exceptions import EXCEPTIONS, compose
from rehearsed.hearing import HARDER_DB, RATIOS_DB, Heard, first_answer, noise_seed
from rehearsed.jobs import done_before
from rehearsed.records import RehearsedCall, RehearsedDrive, SaidReading, load, save
from rehearsed.tracks import NANO, began_utc_ns, light_track, real_track, track_of
from speechkit.calls import Said

SEEDS = range(7_000, 7_012)
RATIO_DB = 10.0
NOT_ANNOUNCED = {
    "charging not noted": {"charged"},
    "trip reset not noted": {"trip reset"},
    "charge up on a descent": {"descent"},
    "paused overnight": {"paused"},
    "units switched": {"units switched"},
    "odometers confused": {"other car's odometer"},
    "correction late": {"misread"},
}


def test_road_load_is_that_worked_out_by_hand() -> None:
    """At 30 m/s against 5 m/s of wind, up 1 %: 0.5 * 1.2 * 0.6 * 35^2 + 1800 * 9.81 * (0.01 + 0.01) N."""
    car = Car(60.0, 1800.0, 0.6, 0.01, 0.9, 0.7, 300.0, 0.0)
    assert road_load_n(car, 30.0, 5.0, 0.01, 1.2) == pytest.approx(441.0 + 353.16)
    assert air_kg_m3(15.0, 0.0) == pytest.approx(1.225, abs=0.001)


@pytest.mark.parametrize("seed", SEEDS)
def test_drives_are_such_as_cars_make(seed: int) -> None:
    """Time, speed and consumption are those of a test drive, and charge falls all the way."""
    outing = outing_of(seed)
    hours, km = outing.ends_s / 3600.0, outing.distance_m[-1] / 1000.0
    assert 3.5 <= hours <= 5.0
    assert 90.0 <= km / hours <= 121.0
    assert 8.0 <= 100.0 * outing.used_kwh[-1] / km <= 30.0
    assert np.all(np.diff(outing.charge) < 0.0)
    assert outing.charge[-1] < 0.08


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("system", ["miles", "metric"])
def test_the_dash_counts_one_way(seed: int, system: str) -> None:
    """No counter of an ordinary drive ever goes back."""
    outing = outing_of(seed)
    dash = Dash(outing, system)  # type: ignore[arg-type]
    times = np.linspace(1.0, outing.ends_s, 400).tolist()
    for quantity, rises in (("charge", False), ("trip", True), ("odometer", True), ("energy_used", True)):
        shown = [dash.shows(quantity, at_s) for at_s in times]
        values = [each.value for each in shown if each is not None]
        assert len(values) == len(times)
        assert values == sorted(values, reverse=not rises)


@pytest.mark.parametrize("seed", SEEDS[:4])
def test_what_is_said_is_what_is_shown_and_agrees_with_the_track(seed: int) -> None:
    """Each value is on the dash a second before its call, and the trip is GPS's distance within its scale."""
    system = "metric"
    dash = Dash(outing_of(seed), system)
    track = real_track(seed)
    began = departure_of(seed).began_utc_ns
    calls = planned(seed, system)
    assert 30 <= len(calls) <= 130
    assert [call.at_s for call in calls] == sorted(call.at_s for call in calls)
    for call in calls:
        for said in call.spoken.truth:
            assert (Decimal(said.value), said.unit) == dash.shows(said.quantity, call.at_s - 1.0)
            place = track.at(began + round((call.at_s - 1.0) * NANO))
            assert place is not None
            if said.quantity == "trip" and float(said.value) > 20.0:
                assert 0.975 < 1000.0 * float(said.value) / place.distance_m < 1.035


def test_both_forms_of_a_track_go_the_same_way() -> None:
    """Both measure the true distance, and put the car at about the same places."""
    outing = outing_of(SEEDS[0])
    real, light = real_track(SEEDS[0]), light_track(outing)
    for at_s in (600, 5_000, 11_000):
        utc_ns = departure_of(SEEDS[0]).began_utc_ns + at_s * NANO
        one, other = real.at(utc_ns), light(utc_ns)
        assert one is not None
        assert other is not None
        true_m = outing.at(outing.distance_m, at_s)
        assert one.distance_m == pytest.approx(true_m, rel=1e-3)
        assert other.distance_m == pytest.approx(true_m, rel=6e-4)
        assert (one.lat_deg, one.lon_deg) == pytest.approx((other.lat_deg, other.lon_deg), abs=0.02)


def test_records_come_back_as_they_were(tmp_path: Path) -> None:
    """Decimals as said, lists, absent ratios and open words survive."""
    readings = (SaidReading("trip", "63.0", "km"), SaidReading("charge", "41", "%", "charged"))
    heard = RehearsedCall(1.5, 3.25, "checkpoint", "call", readings, (("a b", -0.5), ("c", -2.0)), (), "open")
    drive = RehearsedDrive(
        "one", "tuning", 7, "metric", "somebody", 5.0, "", (heard, replace(heard, open_words=None))
    )
    save(tmp_path / "drives.gz", [drive, replace(drive, name="two", ratio_db=None)])
    assert list(load(tmp_path / "drives.gz")) == [drive, replace(drive, name="two", ratio_db=None)]


def test_a_broken_line_of_kept_work_is_done_again(tmp_path: Path) -> None:
    """A run that was broken off in the middle of a line loses that piece only."""
    kept = tmp_path / "parts"
    kept.write_text('{"key":"a","result":[1]}\n{"key":"b","resu', encoding="utf-8")
    assert done_before(kept) == {"a": [1]}


def test_no_two_sets_share_noise() -> None:
    """Groups, parts and ratios have ranges of seeds of their own."""
    seeds = {
        noise_seed(group, part, ratio_db, number)
        for group in ("tuning", "report")
        for part in ("main", "bank")
        for ratio_db in (*RATIOS_DB, HARDER_DB)
        for number in (0, 9_999_999)
    }
    assert len(seeds) == 2 * 2 * 5 * 2


def test_the_first_answer_is_right_only_with_the_right_kind() -> None:
    """A correction is no call, and what only one of them heard does not count."""
    said = (Said("charge", "63", "%"),)
    call, correction = (("checkpoint sixty three percent", 0.0),), (("correction sixty three percent", 0.0),)
    assert first_answer(Heard(1.0, call, call), said, "call", "miles") == (True, True)
    assert first_answer(Heard(1.0, correction, correction), said, "call", "miles") == (False, False)
    assert first_answer(Heard(1.0, (), call), said, "call", "miles") == (False, False)
    note = (("note trip reset", 0.0),)
    assert first_answer(Heard(1.0, note, note), (), "note trip reset", "miles") == (True, True)


@pytest.fixture(scope="module")
def bank() -> Bank:
    """A bank as if recognisers had heard it: one answer in eight is wrong at first."""
    return Bank("tuning", tuple(_items()))


def _items() -> Iterator[BankItem]:
    for want in wanted("tuning"):
        text = want.spoken().text
        right = random.Random(want.key).random() > 0.125
        answers = ((text, 0.0), ("checkpoint one percent", -2.0))[:: 1 if right else -1]
        yield _item(want, text, answers, right=right)


def _item(want: Wanted, text: str, answers: tuple[tuple[str, float], ...], *, right: bool) -> BankItem:
    return BankItem(
        key=want.key,
        system=want.system,
        kind=want.kind,
        quantity=want.quantity,
        value=want.value,
        unit=want.unit,
        take=want.take,
        text=text,
        voice=want.voice.name,
        ratio_db=RATIO_DB,
        length_s=0.3 * len(text.split()) + 0.5,
        vosk=answers,
        sphinx=answers,
        first_right=right,
        listed=True,
    )


def test_a_bank_comes_back_as_it_was(bank: Bank, tmp_path: Path) -> None:
    """All items, in order."""
    save_bank(tmp_path / "bank.gz", bank)
    assert load_bank(tmp_path / "bank.gz") == bank


@pytest.mark.parametrize("exception", EXCEPTIONS)
@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_a_composed_drive_holds_its_exception(bank: Bank, exception: str, seed: int) -> None:
    """The same each time, of the size asked for, labelled as the exception is, on its track."""
    drive = compose(bank, exception, seed, RATIO_DB)
    assert drive == compose(bank, exception, seed, RATIO_DB)
    assert 25 <= len(drive.calls) <= 40
    for one, other in itertools.pairwise(drive.calls):
        assert one.at_s + one.length_s < other.at_s
    surprises = {said.surprise for call in drive.calls for said in call.readings} - {""}
    assert surprises == NOT_ANNOUNCED.get(exception, set())
    notes = {call.kind for call in drive.calls if not call.readings}
    assert ("note charging" in notes) == (exception == "charging noted")
    assert ("note trip reset" in notes) == (exception == "trip reset noted")
    place_at, began = track_of(drive), began_utc_ns(drive)
    placed = [place_at(began + round(call.at_s * NANO)) is not None for call in drive.calls]
    assert any(placed) == (exception != "no gps")
    assert all(placed) == (exception not in {"no gps", "gps lost"})


@pytest.mark.parametrize("seed", range(1, 9))
@pytest.mark.parametrize(
    ("exception", "surprise", "most"),
    [("charge up on a descent", "descent", 2), ("charging not noted", "charged", 60), ("gps lost", None, 0)],
)
def test_charge_rises_only_where_it_is_a_surprise(
    bank: Bank, exception: str, surprise: str | None, most: int, seed: int
) -> None:
    """Once, and by as much as such things do."""
    charges = [
        said
        for call in compose(bank, exception, seed, RATIO_DB).calls
        for said in call.readings
        if said.quantity == "charge"
    ]
    rises = [
        (other.surprise, int(other.value) - int(one.value))
        for one, other in itertools.pairwise(charges)
        if int(other.value) > int(one.value)
    ]
    assert [why for why, _ in rises] == ([] if surprise is None else [surprise])
    assert all(1 <= rise <= most for _, rise in rises)


def test_readings_in_a_row_are_wrong_where_that_is_the_exception(bank: Bank) -> None:
    """One at least at the start, or three in a row."""
    for exception, least in (("first wrong", 1), ("several wrong in a row", 3)):
        for seed in range(6):
            calls = compose(bank, exception, seed, RATIO_DB).calls
            assert max(_longest_wrong(calls, quantity) for quantity in ("charge", "trip")) >= least


def _longest_wrong(calls: tuple[RehearsedCall, ...], quantity: str) -> int:
    """How many consecutive readings of a quantity have a wrong first answer."""
    wrong = [
        call.vosk[0][0] != call.text for call in calls for said in call.readings if said.quantity == quantity
    ]
    return max((len(list(run)) for is_wrong, run in itertools.groupby(wrong) if is_wrong), default=0)
