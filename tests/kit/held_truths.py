"""How often the intervals of results hold the truth of rehearsed drives: counting for `tests/benchmarks/results.py` and its small test."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from driven_out import DrivenOut, Truth, driven_out, goes_over_a_pass

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
OVER_A_PASS = {
    f"{name}, over a pass": name for name in ("range projected at half", "range projected at a quarter")
}
"""What is counted of such drives apart as well: where nobody can know yet what a climb gives back."""


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
    tallies = {name: Tally() for name in (*TOLD, *OVER_A_PASS, THUMB)}
    for seed in seeds:
        drive = driven_out(seed)
        results = work_out(drive.seen)
        count(tallies, drive, results)
        if goes_over_a_pass(seed):
            count(tallies, drive, results, OVER_A_PASS)
    return {name: tally for name, tally in tallies.items() if tally.drives}


def count(
    tallies: dict[str, Tally], drive: DrivenOut, results: Results, names: Mapping[str, str] | None = None
) -> None:
    """Count what one drive came to; `names` says under which names, and which of `TOLD`: all of them and the rule of thumb by default."""
    for name, told_as in ({each: each for each in TOLD} if names is None else names).items():
        section, key, truth = TOLD[told_as]
        told = results.section(section).answer(key)
        if isinstance(told, Figure):
            tallies[name].add(told, truth(drive.truth))
        else:
            tallies[name].absent += 1
    thumb = results.section("projection").answer("rule_of_thumb_at_half")
    if names is None and isinstance(thumb, Figure):
        tallies[THUMB].add(thumb, drive.truth.zero_km)
