"""The altitude of the way: its profile, and what it climbs and falls. Pure."""

from __future__ import annotations

import numpy as np

from logger.core.results.climbing import climbs_of
from logger.core.results.figures import Absent, Figure, Line, Section
from logger.core.results.ground import Ground, ground_of
from logger.core.results.observed import Observed
from logger.core.results.series import ProfileSeries
from logger.core.results.telling import within

MOST_POINTS = 400
NO_TRACK = "There is no track; record or give one for this."


def altitude(seen: Observed) -> Section:
    """Return total climb and descent, the lowest, the highest and the mean altitude."""
    ground = NO_TRACK if seen.track is None else ground_of(seen.track)
    if isinstance(ground, str):
        labels = {"climb": "Total climb", "descent": "Total descent", "mean": "Mean altitude"}
        labels |= {"lowest": "Lowest altitude", "highest": "Highest altitude"}
        return Section(
            "altitude", "Altitude", tuple(Line(key, label, Absent(ground)) for key, label in labels.items())
        )
    climbs = climbs_of(ground)
    covers = "the receiver's noise as this drive shows it, not rises too low to be told from it"
    remark = f"Rises and falls of less than {climbs.band_m:g} m count as level."
    lines = [
        Line(key, label, within(part.metres, "m", part.sd_m, covers, lowest=0.0, remark=remark))
        for key, label, part in (
            ("climb", "Total climb", climbs.up),
            ("descent", "Total descent", climbs.down),
        )
    ]
    plain = "A receiver's altitude may be off by some metres all along."
    heights = ground.height_m
    lines += [
        Line("mean", "Mean altitude", Figure(float(heights.mean()), "m", remark=plain)),
        Line("lowest", "Lowest altitude", Figure(float(heights.min()), "m", remark=plain)),
        Line("highest", "Highest altitude", Figure(float(heights.max()), "m", remark=plain)),
    ]
    return Section("altitude", "Altitude", tuple(lines), remarks=_remarks(ground))


def _remarks(ground: Ground) -> tuple[str, ...]:
    strays = f"{ground.noise_m:.1f} m about the road, and the profile by {ground.sd_m:.1f} m"
    told = [
        f"The receiver's altitude strays by {strays} (standard deviations, told from the altitudes themselves)."
    ]
    if ground.known < 0.995:
        told.append(
            f"{100.0 * (1.0 - ground.known):.0f} % of the way has no altitudes; the profile runs straight there."
        )
    return tuple(told)


def profile_series(seen: Observed) -> ProfileSeries:
    """Return the profile, thinned to `MOST_POINTS` points at the most; none where there is no altitude."""
    ground = None if seen.track is None else ground_of(seen.track)
    if not isinstance(ground, Ground):
        return ProfileSeries(np.empty(0), np.empty(0))
    at = np.unique(np.linspace(0, len(ground.height_m) - 1, MOST_POINTS).round().astype(np.int64))
    return ProfileSeries(ground.distance_m[at] / 1000.0, ground.height_m[at])
