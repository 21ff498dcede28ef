"""Whether to turn round: each branch by hand, more charge never sooner, and invented cars that come home."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from there_and_back import trip

from logger.core.charge_left import ChargeAt, Left
from logger.core.turning import AGAIN_M, Advice, Turn, Watch, advice_on
from logger.core.way import OUT_AND_BACK_RESERVE_POINTS, Way
from logger.core.way_back import Standing

KM = 1000.0
OUT_AND_BACK = Way(None, 10.0)
LOOP = Way(50 * KM, 10.0)


def left_of(least_km: float, km_a_point: float = 2.0) -> Left:
    """At least so many kilometres to empty, at so many a point."""
    there = ChargeAt(0.0, 0.0)
    return Left(there, there, 0.0, 0.0, least_km * KM, least_km * KM, least_km * KM, km_a_point * KM)


@pytest.mark.parametrize(
    ("least_km", "back_km", "turn", "room_km"),
    [
        (101.0, 61.0, Turn.GO_ON, 10.0),  # 101 - 20 of reserve = 81; (81 - 61) / 2 out and back again
        (81.1, 61.0, Turn.GO_ON, 0.05),
        (81.0, 61.0, Turn.TURN_ROUND, 0.0),  # exactly the way back and the reserve
        (61.0, 61.0, Turn.TURN_ROUND, 0.0),  # too late for the reserve
        (60.9, 61.0, Turn.OUT_OF_REACH, 0.0),
    ],
)
def test_out_and_back(least_km: float, back_km: float, turn: Turn, room_km: float) -> None:
    """On the way out, 10 points of 2 km in reserve."""
    advice = advice_on(left_of(least_km), Standing(None, back_km * KM), OUT_AND_BACK)

    assert (turn, 0, 20 * KM) == (advice.turn, advice.laps, advice.reserve_m)
    assert pytest.approx(room_km * KM) == advice.room_m


@pytest.mark.parametrize(
    ("least_km", "turn"),
    [
        (81.0, Turn.TO_THE_START),
        (80.9, Turn.INTO_RESERVE),
        (61.0, Turn.INTO_RESERVE),
        (60.9, Turn.OUT_OF_REACH),
    ],
)
def test_on_the_way_back(least_km: float, turn: Turn) -> None:
    """61 km to go: nobody is told to turn round there."""
    here = Standing(61 * KM, 61 * KM, retracing=True)

    assert turn is advice_on(left_of(least_km), here, OUT_AND_BACK).turn


@pytest.mark.parametrize(
    ("least_km", "on_km", "turn", "laps", "room_km"),
    [
        (132.4, 12.4, Turn.GO_ON, 2, 50.0),  # 132.4 - 20 - 12.4 = 100 = 2 x 50
        (132.3, 12.4, Turn.GO_ON, 1, 49.9),
        (82.4, 12.4, Turn.GO_ON, 1, 0.0),
        (82.3, 12.4, Turn.LAST_LAP, 0, 0.0),
        (32.4, 12.4, Turn.LAST_LAP, 0, 0.0),
        (32.3, 12.4, Turn.INTO_RESERVE, 0, 0.0),  # going back would be 37.6
        (12.3, 12.4, Turn.OUT_OF_REACH, 0, 0.0),
        (65.0, 46.0, Turn.TURN_ROUND, 0, 0.0),  # 45 without the reserve; 4 back
        (3.9, 46.0, Turn.OUT_OF_REACH, 0, 0.0),
        (66.0, 46.0, Turn.LAST_LAP, 0, 0.0),
    ],
)
def test_a_loop(least_km: float, on_km: float, turn: Turn, laps: int, room_km: float) -> None:
    """A loop of 50 km, 20 km of reserve."""
    here = Standing(on_km * KM, (50.0 - on_km) * KM, lap=3, lap_m=50 * KM)
    advice = advice_on(left_of(least_km), here, LOOP)

    assert (turn, laps) == (advice.turn, advice.laps)
    assert pytest.approx(room_km * KM, abs=1e-6) == advice.room_m


def test_a_reserve_in_kilometres() -> None:
    """It counts as it is, whatever a point is good for."""
    way = Way(None, 0.0, 15 * KM)

    assert 15 * KM == advice_on(left_of(80.0), Standing(None, KM), way).reserve_m


standings = st.one_of(
    st.builds(Standing, st.none(), st.floats(0.0, 3e5)),
    st.floats(0.0, 3e5).map(lambda to_m: Standing(to_m, to_m, retracing=True)),
    st.floats(0.0, 1.0).map(lambda share: Standing(5e4 * share, 5e4 * (1.0 - share), lap=2, lap_m=5e4)),
)


@given(
    here=standings, least_km=st.floats(0.0, 400.0), more_km=st.floats(0.0, 100.0), points=st.floats(0.0, 50.0)
)
def test_more_charge_is_never_more_urgent(
    here: Standing, least_km: float, more_km: float, points: float
) -> None:
    """Wherever the car is."""
    way = Way(here.lap_m or None, points)

    less, more = (advice_on(left_of(km), here, way) for km in (least_km, least_km + more_km))
    assert less.urgency >= more.urgency
    assert less.laps <= more.laps


@given(
    here=standings, least_km=st.floats(0.0, 400.0), points=st.floats(0.0, 50.0), further=st.floats(0.0, 20.0)
)
def test_more_reserve_is_never_less_urgent(
    here: Standing, least_km: float, points: float, further: float
) -> None:
    """Wherever the car is."""
    small, large = (
        advice_on(left_of(least_km), here, Way(here.lap_m or None, each))
        for each in (points, points + further)
    )

    assert small.urgency <= large.urgency
    assert small.laps >= large.laps


@settings(max_examples=40, deadline=None)  # each is two whole trips
@given(seed=st.integers(0, 10_000), points=st.floats(5.0, 30.0), further=st.floats(0.0, 20.0))
def test_more_reserve_turns_no_later(seed: int, points: float, further: float) -> None:
    """Whole trips of invented cars."""
    assert trip(seed, Way(None, points)).turned_m >= trip(seed, Way(None, points + further)).turned_m


def test_invented_cars_come_home() -> None:
    """By the default, in calm, and against 3 m/s that helped on the way out; against 7 m/s it is not enough."""
    way = Way(None, OUT_AND_BACK_RESERVE_POINTS)
    ends = {wind: [trip(seed, way, wind).left_percent for seed in range(100)] for wind in (0.0, 3.0, 7.0)}

    assert min(ends[0.0]) > 15.0
    assert min(ends[3.0]) > 0.0
    assert max(ends[7.0]) < 10.0


def advice(turn: Turn, room_m: float = 0.0) -> Advice:
    """Advice."""
    return Advice(turn, room_m, 0, 0.0)


def test_told_once() -> None:
    """At the second look that says so; what is more urgent again; never the same twice."""
    watch = Watch()
    turn, out = advice(Turn.TURN_ROUND), advice(Turn.OUT_OF_REACH)
    looks = [advice(Turn.GO_ON, 9e4), turn, turn, turn, advice(Turn.TO_THE_START), turn, turn, out, out, out]

    assert [False, False, True, False, False, False, False, False, True, False] == [
        watch.look(each) for each in looks
    ]


def test_a_leap_of_the_receiver_is_not_told() -> None:
    """What one look alone says, or looks with nothing known between, is nothing."""
    watch = Watch()
    turn, go_on = advice(Turn.TURN_ROUND), advice(Turn.GO_ON, 9e4)

    assert not any(watch.look(each) for each in [turn, go_on, turn, None, turn])


def test_what_gets_more_urgent_between_looks_is_told_once() -> None:
    """The last lap for a look, then out of reach: it is told that it is out of reach."""
    watch = Watch()
    last, out = advice(Turn.LAST_LAP), advice(Turn.OUT_OF_REACH)

    assert [False, False, True, False, False] == [watch.look(each) for each in [last, out, out, out, last]]


def test_void_advice_is_given_again() -> None:
    """After charging, or a charge that was misheard; not where it wavers about the moment."""
    watch = Watch()
    turn = advice(Turn.TURN_ROUND)
    assert [False, True] == [watch.look(turn) for _ in range(2)]

    watch.look(advice(Turn.GO_ON, AGAIN_M - 1))
    assert [False, False] == [watch.look(turn) for _ in range(2)]
    watch.look(advice(Turn.GO_ON, AGAIN_M))
    assert [False, True] == [watch.look(turn) for _ in range(2)]


def test_what_was_asked_for_is_not_told_again() -> None:
    """The driver knows."""
    watch = Watch()
    watch.told(advice(Turn.TURN_ROUND))

    assert not any(watch.look(advice(Turn.TURN_ROUND)) for _ in range(3))
