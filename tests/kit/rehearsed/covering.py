"""How often the intervals of the results cover what is true of a drive, by figure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from logger.core.results.air import air
from logger.core.results.altitude import altitude
from logger.core.results.climbing import climbed, climbs_of
from logger.core.results.corrected import corrected
from logger.core.results.figures import Figure
from logger.core.results.ground import Ground, ground_of
from logger.core.results.road_load import road_load
from logger.core.results.wind import wind
from rehearsed.weathered import Kind, Weathered, weathered

FIGURES = {
    "total climb": "m",
    "total descent": "m",
    "mean headwind": "m/s",
    "air density": "kg/m3",
    "wind cost": "Wh/km",
    "climb cost": "Wh/km",
    "density cost": "Wh/km",
    "speed cost": "Wh/km",
    "consumption by road load": "Wh/km",
    "corrected consumption": "Wh/km",
}
TUNING = range(5_000, 6_000)
REPORT = range(20_000, 21_000)
"""Seeds; what is chosen on the first is never reported of them."""


@dataclass(frozen=True, slots=True)
class Told:
    """A figure and the truth."""

    figure: Figure
    truth: float

    @property
    def covered(self) -> bool:
        """Whether the truth lies in the interval."""
        assert self.figure.low is not None
        assert self.figure.high is not None
        return self.figure.low <= self.truth <= self.figure.high

    @property
    def width(self) -> float:
        """How wide the interval is."""
        assert self.figure.low is not None
        assert self.figure.high is not None
        return self.figure.high - self.figure.low


@dataclass(frozen=True, slots=True)
class Covered:
    """A figure over many drives."""

    covered: int
    drives: int
    mean_truth: float
    rms_error: float
    mean_width: float


def told(drive: Weathered) -> dict[str, Told]:
    """Return what the results tell of a drive beside what is true."""
    costs, air_section, heights = road_load(drive.seen), air(drive.seen), altitude(drive.seen)
    assert drive.seen.track is not None
    ground = ground_of(drive.seen.track)
    assert isinstance(ground, Ground)
    road = np.interp(ground.distance_m, drive.course.distance_m, drive.altitude_m)
    up, down = climbed(road, climbs_of(ground).band_m)
    truth = drive.truth
    answers = {
        "total climb": (heights.answer("climb"), up),
        "total descent": (heights.answer("descent"), down),
        "mean headwind": (wind(drive.seen).answer("headwind"), truth["headwind"]),
        "air density": (air_section.answer("density"), truth["density"]),
        "wind cost": (costs.answer("wind_cost"), truth["wind"]),
        "climb cost": (costs.answer("climb_cost"), truth["climb"]),
        "density cost": (costs.answer("air_cost"), truth["air"]),
        "speed cost": (costs.answer("speed_cost"), truth["speed"]),
        "consumption by road load": (costs.answer("drawn"), truth["drawn"]),
        "corrected consumption": (
            corrected(drive.seen, drive.range_km).answer("corrected_consumption"),
            truth["reference"],
        ),
    }
    found = {}
    for name, (answer, true) in answers.items():
        assert isinstance(answer, Figure), name
        found[name] = Told(answer, true)
    return found


def covered(seeds: Iterable[int], kind: Kind) -> Mapping[str, Covered]:
    """Return how often each figure's interval covers the truth."""
    drives = [told(weathered(seed, kind)) for seed in seeds]
    return {name: _of([drive[name] for drive in drives]) for name in FIGURES}


def _of(tolds: list[Told]) -> Covered:
    errors = np.array([each.figure.value - each.truth for each in tolds])
    return Covered(
        covered=sum(each.covered for each in tolds),
        drives=len(tolds),
        mean_truth=float(np.mean([each.truth for each in tolds])),
        rms_error=float(np.sqrt(np.mean(errors**2))),
        mean_width=float(np.mean([each.width for each in tolds])),
    )
