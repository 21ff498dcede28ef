"""The track while it is being driven: the same as the whole drive's, made anew only at its end. Pure.

A track of five hours takes half a second to make, which nobody may wait for. So it is kept in pieces: those driven long
ago stay as they are, and only the newest is made again when somebody asks. What is asked of it is provisional; the end
of the drive makes one track of all fixes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from logger.core.track import Track
from logger.errors import TrackError
from logger.model import Fix, Place

_MOST_FIXES = 1200
"""Twenty minutes at one a second: made in 20 ms."""


class LiveTrack:
    """Takes fixes as they come, and says where the car was."""

    def __init__(self) -> None:
        self._pieces: list[tuple[Track, float]] = []
        """Finished pieces, each with the distance driven before it."""
        self._fixes: list[Fix] = []
        self._newest: Track | None = None
        self._before_m = 0.0
        self._stale = False

    def add(self, fix: Fix) -> None:
        """Take the next fix."""
        self._fixes.append(fix)
        self._stale = True
        if len(self._fixes) >= _MOST_FIXES:
            self._finish_piece()

    def go_on_from(self, earlier: Iterable[Fix]) -> None:
        """Take the fixes of earlier runs, which come before those taken until now; for when a drive is gone on with."""
        came, self._fixes = self._fixes, []
        for fix in (*earlier, *came):
            self.add(fix)

    def at(self, utc_ns: int) -> Place | None:
        """Return where the car was at an instant, None where nobody was measuring; see `Track.at`."""
        newest = self._made()
        pieces = [*self._pieces, (newest, self._before_m)] if newest is not None else self._pieces
        # A piece says something of the seconds beside it too, but the one they belong to knows better.
        inside = [piece for piece in pieces if piece[0].began_utc_ns <= utc_ns <= piece[0].ended_utc_ns]
        for track, before_m in reversed(inside or pieces):
            place = track.at(utc_ns)
            if place is not None:
                return replace(place, distance_m=place.distance_m + before_m)
        return None

    @property
    def distance_m(self) -> float:
        """How far the car drove until now."""
        newest = self._made()
        return self._before_m + (newest.length_m if newest is not None else 0.0)

    def whole(self) -> Track | None:
        """Return all that was driven as one track; None before the first usable fix. Takes a millisecond after five hours."""
        newest = self._made()
        pieces = [*self._pieces, *([(newest, self._before_m)] if newest is not None else [])]
        if not pieces:
            return None
        columns = {
            name: np.concatenate([getattr(track, name) for track, _ in pieces])
            for name in ("utc_ns", "lat_deg", "lon_deg", "altitude_m", "speed_mps")
        }
        distance_m = np.concatenate([track.distance_m + before_m for track, before_m in pieces])
        return Track(**columns, distance_m=distance_m)

    def _made(self) -> Track | None:
        if self._stale:
            self._stale = False
            try:
                self._newest = Track.from_fixes(self._fixes)[0]
            except TrackError:  # not one of them is usable
                self._newest = None
        return self._newest

    def _finish_piece(self) -> None:
        track = self._made()
        if track is not None:
            self._pieces.append((track, self._before_m))
            self._before_m += track.length_m
        self._fixes = self._fixes[-1:]  # the next piece goes on from there
        self._newest, self._stale = None, True
