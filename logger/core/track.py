"""The drive's line through time and space: where the car was at an instant, and how far it had driven. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from logger.core.driven import OTHER_DAY_S, driven_steps_m
from logger.core.fix_columns import FARTHEST_NS, FixColumns
from logger.core.fixes import GAP_S, is_leap, usable
from logger.core.geodesy import Floats, steps_m
from logger.core.utc import format_utc
from logger.errors import TrackError
from logger.model import Fix, Issue, Place

EDGE_NS = 3_000_000_000
"""So long before its first and after its last fix a track still says where the car was."""

_NANO = 1_000_000_000
_MOST_GAPS_NAMED = 10


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """The usable fixes of a drive in order of time, and the distance driven at each.

    All arrays are read-only and have shape (n,), n >= 1. `speed_mps` and `altitude_m` are NaN where the receiver
    gave none. `distance_m` begins at 0 and never falls; `driven` says how it is made.
    """

    utc_ns: NDArray[np.int64]
    lat_deg: Floats
    lon_deg: Floats
    altitude_m: Floats
    speed_mps: Floats
    distance_m: Floats

    @classmethod
    def from_fixes(cls, fixes: Iterable[Fix]) -> tuple[Self, tuple[Issue, ...]]:
        """Build the track, and say what was odd about the fixes. Their order does not matter, except for one Issue.

        Raises:
            TrackError: there is no usable fix.
        """
        return cls.from_columns(FixColumns.of(tuple(fixes)))

    @classmethod
    def from_columns(cls, fixes: FixColumns) -> tuple[Self, tuple[Issue, ...]]:
        """Build the same track from columns: much quicker where the fixes are stored.

        Raises:
            TrackError: there is no usable fix.
        """
        which, issues = usable(fixes)
        if not len(which):
            raise TrackError("the track has no usable fix; record one with the receiver in view of the sky")
        kept = fixes.taken(which)
        seconds = (kept.utc_ns - kept.utc_ns[0]).astype(np.float64) / _NANO
        east, north = steps_m(kept.lat_deg, kept.lon_deg)
        steps, doubts = driven_steps_m(seconds, east, north, kept.speed_mps)
        track = cls(
            utc_ns=kept.utc_ns,
            lat_deg=kept.lat_deg,
            lon_deg=kept.lon_deg,
            altitude_m=kept.altitude_m,
            speed_mps=kept.speed_mps,
            distance_m=np.concatenate(([0.0], np.cumsum(steps))),
        )
        for column in (
            track.utc_ns, track.lat_deg, track.lon_deg, track.altitude_m, track.speed_mps, track.distance_m
        ):  # fmt: skip
            column.setflags(write=False)
        return track, (*issues, *_gap_issues(kept.utc_ns, np.hypot(east, north)), *doubts)

    @property
    def began_utc_ns(self) -> int:
        """When the first fix was taken."""
        return int(self.utc_ns[0])

    @property
    def ended_utc_ns(self) -> int:
        """When the last fix was taken."""
        return int(self.utc_ns[-1])

    @property
    def length_m(self) -> float:
        """The distance driven from the first fix to the last."""
        return float(self.distance_m[-1])

    def at(self, utc_ns: int) -> Place | None:
        """Return where the car was at an instant, None more than `EDGE_NS` before or after the track.

        Between fixes, position and distance run straight; up to `EDGE_NS` outside, the car is at the track's end.
        `gap_s` is 0 at a fix itself and, outside, the time to the end. The speed is the receiver's, else the driven
        distance over the time between the two fixes, else (across a gap) None. Takes O(log n).
        """
        began_ns, ended_ns = self.utc_ns.item(0), self.utc_ns.item(-1)
        if utc_ns < began_ns - EDGE_NS or utc_ns > ended_ns + EDGE_NS:
            return None
        inside_ns = min(max(utc_ns, began_ns), ended_ns)
        after = int(self.utc_ns.searchsorted(inside_ns))
        if self.utc_ns.item(after) == inside_ns:
            return Place(
                lat_deg=self.lat_deg.item(after),
                lon_deg=self.lon_deg.item(after),
                distance_m=self.distance_m.item(after),
                speed_mps=self._speed_at(after),
                gap_s=abs(utc_ns - inside_ns) / _NANO,
            )
        before = after - 1
        gap_ns = self.utc_ns.item(after) - self.utc_ns.item(before)
        share = (inside_ns - self.utc_ns.item(before)) / gap_ns
        start_m, end_m = self.distance_m.item(before), self.distance_m.item(after)
        return Place(
            lat_deg=_between(self.lat_deg.item(before), self.lat_deg.item(after), share),
            lon_deg=_lon_between(self.lon_deg.item(before), self.lon_deg.item(after), share),
            # Rounding must not lift a place beyond the fix that follows it.
            distance_m=min(_between(start_m, end_m, share), end_m),
            speed_mps=self._speed_between(before, share),
            gap_s=gap_ns / _NANO,
        )

    def distances_m(self, utc_ns: Sequence[int], longest_gap_s: float) -> Floats:
        """Return how far the car had driven at n instants, shape (n,): the distances of `at`, for many at once.

        NaN where `at` knows no place, or one in a gap longer than `longest_gap_s`.
        """
        # No fix is farther from 1970 than that, and the arithmetic holds it.
        asked = np.array([min(max(each, -FARTHEST_NS), FARTHEST_NS) for each in utc_ns], dtype=np.int64)
        inside = np.clip(asked, self.utc_ns[0], self.utc_ns[-1])
        after = np.searchsorted(self.utc_ns, inside, side="left")
        at_fix = self.utc_ns[after] == inside
        before = np.where(at_fix, after, after - 1)
        gaps_ns = np.where(at_fix, np.abs(asked - inside), self.utc_ns[after] - self.utc_ns[before])
        share = (inside - self.utc_ns[before]) / np.maximum(gaps_ns, 1)
        start_m, end_m = self.distance_m[before], self.distance_m[after]
        distances_m = np.minimum(start_m + share * (end_m - start_m), end_m)
        known = (np.abs(asked - inside) <= EDGE_NS) & (gaps_ns / _NANO <= longest_gap_s)
        return np.where(known, distances_m, np.nan)

    def _speed_at(self, index: int) -> float | None:
        """The speed at a fix."""
        if len(self.utc_ns) == 1:
            return _or_none(self.speed_mps.item(index))
        return self._speed_between(index, 0.0) if index == 0 else self._speed_between(index - 1, 1.0)

    def _speed_between(self, before: int, share: float) -> float | None:
        """The speed at a share of the way from a fix to the next."""
        ends = self.speed_mps.item(before), self.speed_mps.item(before + 1)
        if share in {0.0, 1.0} and not math.isnan(ends[int(share)]):
            return ends[int(share)]
        gap_s = (self.utc_ns.item(before + 1) - self.utc_ns.item(before)) / _NANO
        if gap_s > GAP_S:
            return None
        if not math.isnan(ends[0] + ends[1]):
            return _between(*ends, share)
        return (self.distance_m.item(before + 1) - self.distance_m.item(before)) / gap_s


def _or_none(value: float) -> float | None:
    """Return None for NaN."""
    return None if math.isnan(value) else value


def _between(start: float, end: float, share: float) -> float:
    """Return the value at a share of the way."""
    return start + share * (end - start)


def _lon_between(start_deg: float, end_deg: float, share: float) -> float:
    """Return the longitude at a share of the short way, which may lead over the date line."""
    way_deg = (end_deg - start_deg + 180.0) % 360.0 - 180.0
    return (start_deg + share * way_deg + 180.0) % 360.0 - 180.0


def _gap_issues(utc_ns: NDArray[np.int64], lengths: Floats) -> tuple[Issue, ...]:
    """Say where nobody was measuring, and where the car cannot have driven from one fix to the next."""
    seconds = np.diff(utc_ns).astype(np.float64) / _NANO
    leaps = is_leap(seconds, lengths)
    odd = np.flatnonzero((seconds > GAP_S) | leaps).tolist()
    issues = []
    gaps = 0
    for index in odd:
        when = format_utc(int(utc_ns[index]))
        then = format_utc(int(utc_ns[index + 1]))
        km = lengths[index] / 1_000.0
        if seconds[index] > OTHER_DAY_S:
            message = (
                f"the track holds another outing: nothing from {when} to {then}; that way is not counted"
            )
            issues.append(Issue("track_another_day", message))
        elif leaps[index]:
            message = (
                f"the track jumps {km:.2f} km in {seconds[index]:.0f} s at {when}; that way is not counted"
            )
            issues.append(Issue("track_jump", message))
        else:
            gaps += 1
            message = f"no fix for {seconds[index]:.0f} s from {when}; {km:.2f} km counted as a straight line"
            if gaps <= _MOST_GAPS_NAMED:
                issues.append(Issue("track_gap", message))
    if gaps > _MOST_GAPS_NAMED:
        more = gaps - _MOST_GAPS_NAMED
        message = f"{more} more gaps longer than {GAP_S:.0f} s, the longest {_longest(seconds, leaps):.0f} s"
        issues.append(Issue("track_gap", message))
    return tuple(issues)


def _longest(seconds: Floats, leaps: NDArray[np.bool_]) -> float:
    """The longest gap in seconds that is neither a leap nor between outings."""
    return float(np.max(seconds[~leaps & (seconds <= OTHER_DAY_S)]))
