"""How well "how far" tells how far, and what is left where its advice is followed: the tables of docs/method.md.

Invented cars (`rehearsed.car`, `there_and_back`), no sound: every charge called out is taken to be heard right.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray
from rehearsed.car import Outing, outing_of
from rehearsed.dash import Dash
from there_and_back import trip

from logger.core.charge_left import LEAST_USED, ChargeAt, charge_left
from logger.core.turning import Turn, advice_on
from logger.core.way import Way
from logger.core.way_back import Standing

Floats = NDArray[np.float64]
_SEEDS = range(1000, 1120)
_LAP_SEEDS = range(1000, 1150)
_TRIPS = range(300)
_AT_PERCENT = (90, 70, 50, 30, 15)
_CALL_S = (60.0, 360.0)


def by_ends(distance_m: Floats, percent: Floats, end_percent: float) -> float:
    """The first and the newest reading."""
    return (percent[-1] - end_percent) * (distance_m[-1] - distance_m[0]) / (percent[0] - percent[-1])


def by_slope(distance_m: Floats, percent: Floats, end_percent: float) -> float:
    """The slope of the least squares line, from the newest reading."""
    return (percent[-1] - end_percent) / -float(np.polyfit(distance_m, percent, 1)[0])


def by_line(distance_m: Floats, percent: Floats, end_percent: float) -> float:
    """The least squares line itself."""
    slope, level = np.polyfit(distance_m, percent, 1)
    return float((level + slope * distance_m[-1] - end_percent) / -slope)


def of_the_last(
    points: float, estimate: Callable[[Floats, Floats, float], float]
) -> Callable[[Floats, Floats, float], float]:
    """An estimate by the readings of the last so many points."""

    def recent(distance_m: Floats, percent: Floats, end_percent: float) -> float:
        begin = min(int(np.argmax(percent <= percent[-1] + points)), len(percent) - 2)
        if percent[begin] - percent[-1] < LEAST_USED:
            begin = 0
        return estimate(distance_m[begin:], percent[begin:], end_percent)

    return recent


ESTIMATES = {
    "first and newest": by_ends,
    "slope of the line of all": by_slope,
    "line of all": by_line,
    "first and newest of the last 40 points": of_the_last(40, by_ends),
    "line of the last 40 points": of_the_last(40, by_line),
    "first and newest of the last 20 points": of_the_last(20, by_ends),
    "line of the last 20 points": of_the_last(20, by_line),
    "first and newest of the last 10 points": of_the_last(10, by_ends),
}


def called(outing: Outing) -> tuple[Floats, Floats]:
    """Distances at which a drive's charge was called out, and what was called."""
    rng = random.Random(f"called {outing.seed}")
    at_s = []
    now_s = outing.conditions.standing_s
    while now_s < outing.ends_s:
        at_s.append(now_s)
        now_s += rng.uniform(*_CALL_S)
    times = np.array(at_s)
    shown = Dash(outing, "metric").charge_percents(times).astype(np.float64)
    return np.interp(times, outing.seconds, outing.distance_m), shown


def errors(estimate: Callable[[Floats, Floats, float], float]) -> Iterator[str]:
    """The root mean square error of the distance to the drive's end, as a share, at each charge."""
    for at_percent in _AT_PERCENT:
        off = []
        for seed in _SEEDS:
            outing = outing_of(seed)
            distance_m, percent = called(outing)
            until = int(np.argmax(percent <= at_percent)) + 1
            if percent[0] - percent[until - 1] < LEAST_USED:
                continue
            truth_m = float(outing.distance_m[-1]) - distance_m[until - 1]
            end_percent = 100.0 * float(outing.charge[-1])
            off.append(estimate(distance_m[:until], percent[:until], end_percent) / truth_m - 1.0)
        yield f"{100.0 * float(np.sqrt(np.mean(np.square(off)))):.1f}"


def last_lap(outing: Outing, way: Way) -> float | None:
    """The charge at the end of the lap that was advised to be the last; None where none was, -1 beyond the drive's end."""
    lap_m, rng = outing.conditions.lap_m, random.Random(f"laps {outing.seed}")
    dash = Dash(outing, "metric")
    next_call_s = outing.conditions.standing_s
    first = newest = ChargeAt(dash.charge_percent(next_call_s), 0.0)
    for at_s, driven_m in zip(outing.seconds.tolist(), outing.distance_m.tolist(), strict=True):
        if at_s >= next_call_s:
            newest, next_call_s = ChargeAt(dash.charge_percent(at_s), driven_m), at_s + rng.uniform(*_CALL_S)
        left = charge_left(first, newest, driven_m)
        if left is None:
            continue
        of_lap_m = driven_m % lap_m
        turn = advice_on(left, Standing(lap_m - of_lap_m, of_lap_m, lap=1, lap_m=lap_m), way).turn
        if turn is Turn.LAST_LAP:
            end_m = driven_m - of_lap_m + lap_m
            if end_m > outing.distance_m[-1]:
                return -1.0
            return 100.0 * float(np.interp(end_m, outing.distance_m, outing.charge))
        if turn is not Turn.GO_ON:
            return None
    return None


def main() -> None:
    """Print the tables."""
    print("| estimate | " + " | ".join(f"at {each} %" for each in _AT_PERCENT) + " |")
    print("|---" * (len(_AT_PERCENT) + 1) + "|")
    for name, estimate in ESTIMATES.items():
        print(f"| {name} | " + " | ".join(errors(estimate)) + " |")
    print("\n| reserve | wind, m/s | at the start, %: least | mean | below 0 |\n|---|---|---|---|---|")
    for points in (10.0, 20.0):
        for wind_mps in (0.0, 2.2, 3.0, 4.5, None):
            left = np.array([trip(seed, Way(None, points), wind_mps).left_percent for seed in _TRIPS])
            wind = "any to 7" if wind_mps is None else f"{wind_mps:g}"
            below = int(np.count_nonzero(left < 0.0))
            print(
                f"| {points:g} % | {wind} | {left.min():.1f} | {left.mean():.1f} | {below} of {len(left)} |"
            )
    print("\n| reserve | last lap told | at its end, %: least | mean |\n|---|---|---|---|")
    for points in (0.0, 5.0, 10.0):
        ends = [
            last_lap(outing_of(seed), Way(outing_of(seed).conditions.lap_m, points)) for seed in _LAP_SEEDS
        ]
        told = np.array([each for each in ends if each is not None])
        least = "beyond the drive" if told.min() < 0.0 else f"{told.min():.1f}"
        print(f"| {points:g} % | {len(told)} of {len(ends)} | {least} | {told.mean():.1f} |")


if __name__ == "__main__":
    main()
