"""The way of a drive that ends where it began, as the sheet tells it: a loop, or out and back on one road. Pure."""

from __future__ import annotations

from dataclasses import dataclass

LOOP_RESERVE_POINTS = 10.0
"""What is left at the start where the sheet says nothing, in points of charge. Wind and climb cancel over whole laps."""

OUT_AND_BACK_RESERVE_POINTS = 20.0
"""The same for a way back on one road: a wind that helped on the way out hinders then. docs/method.md has figures."""

LEAST_LAP_M = 2000.0
"""A shorter loop cannot be told from turning round on the spot, and how far the start is needs no telling there."""


@dataclass(frozen=True, slots=True)
class Way:
    """What the sheet says of the way.

    Attributes:
        lap_m: the length of the loop; None for out and back on one road.
        reserve_points: what is to be left at the start, in points of charge; 0 where it is told as a distance.
        reserve_m: the same as a distance; 0 where it is told in points.
        start: latitude and longitude in degrees; None for where the first fix was.
    """

    lap_m: float | None
    reserve_points: float
    reserve_m: float = 0.0
    start: tuple[float, float] | None = None
