"""How often the intervals of results hold the truth of rehearsed drives: counting for `tests/benchmarks/results.py` and its small test."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from driven_out import DrivenOut, Truth, driven_out

from logger.core.results.figures import Figure
from logger.core.results.whole import Results, work_out

TOLD: dict[str, tuple[str, str, Callable[[Truth], float]]] = {
    "range at 0 %, by GPS": ("range", "zero_by_gps", lambda truth: truth.zero_km),
    "range at 0 %, by trip meter": ("range", "zero_by_trip", lambda truth: truth.zero_trip_km),
    "efficiency by usable energy": ("energy", "by_usable", lambda truth: truth.wh_per_km),
    "trip meter over GPS": ("meters", "trip_factor", lambda truth: truth.trip_factor),
    "range projected at three quarters": ("projection", "at_three_quarters", lambda truth: truth.zero_km),
    "range projected at half": ("projection", "at_half", lambda truth: truth.zero_km),
    "range projected at a quarter": ("projection", "at_quarter", lambda truth: truth.zero_km),
    "range projected at the last checkpoint": ("projection", "last", lambda truth: truth.zero_km),
    "80 % to 10 %": ("planning", "eighty_to_ten", lambda truth: truth.eighty_to_ten_km),
}
"""What is held against the truth: its section and line, and the truth."""

THUMB = "rule of thumb at half"


@dataclass
class Tally:
    """How one figure did.

    Attributes:
        held: how often its interval held the truth.
        drives: how often there was one.
        squares: sum of squared errors, as shares of the truth.
        halves: sum of half widths of the interval, likewise.
    """

    held: int = 0
    drives: int = 0
    squares: float = 0.0
    halves: float = 0.0
    absent: int = 0

    def add(self, figure: Figure, truth: float) -> None:
        """Count a figure."""
        self.drives += 1
        self.squares += (figure.value / truth - 1.0) ** 2
        if figure.low is not None and figure.high is not None:
            self.held += figure.low <= truth <= figure.high
            self.halves += (figure.high - figure.low) / 2.0 / truth

    @property
    def share(self) -> float:
        """How often the interval held the truth."""
        return self.held / self.drives


def wilson(held: int, drives: int) -> tuple[float, float]:
    """Return the 95 % interval of a share (Wilson 1927, from memory; tests hold it to scipy's)."""
    z = 1.959963984540054
    share, spread = held / drives, z * z / drives
    middle = (share + spread / 2.0) / (1.0 + spread)
    half = z * math.sqrt(share * (1.0 - share) / drives + spread / drives / 4.0) / (1.0 + spread)
    return middle - half, middle + half


def tallied(seeds: Iterable[int]) -> dict[str, Tally]:
    """Work out the drives of some seeds, and count."""
    tallies = {name: Tally() for name in (*TOLD, THUMB)}
    for seed in seeds:
        drive = driven_out(seed)
        count(tallies, drive, work_out(drive.seen))
    return tallies


def count(tallies: dict[str, Tally], drive: DrivenOut, results: Results) -> None:
    """Count what one drive came to."""
    for name, (section, key, truth) in TOLD.items():
        told = results.section(section).answer(key)
        if isinstance(told, Figure):
            tallies[name].add(told, truth(drive.truth))
        else:
            tallies[name].absent += 1
    thumb = results.section("projection").answer("rule_of_thumb_at_half")
    if isinstance(thumb, Figure):
        tallies[THUMB].add(thumb, drive.truth.zero_km)
