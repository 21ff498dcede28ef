"""Results made by hand, for tests of how they are shown: nothing in them was computed from a drive.

An invented car on an invented loop: 250 km from full to empty in thirty calls, 90 km/h.
"""

from __future__ import annotations

from decimal import Decimal
from types import MappingProxyType

import numpy as np

from logger.core.results.figures import Absent, Figure, Line, Section
from logger.core.results.observed import Observed
from logger.core.results.series import (
    ChargeSeries,
    PredictedSeries,
    ProfileSeries,
    ProjectedSeries,
    Series,
    SpeedSeries,
    StretchSeries,
    WaySeries,
    floats,
)
from logger.core.results.whole import Results
from logger.core.table import Column, Kind, Table
from logger.core.track import Track
from logger.core.units import Distances
from logger.model import Drive, Entry

BEGAN = 1_935_558_000_000_000_000
REACHED_KM = 249.0
NOTHING = floats(())

NO_SERIES = Series(
    ChargeSeries(NOTHING, NOTHING),
    ProjectedSeries(NOTHING, NOTHING, NOTHING, NOTHING, NOTHING),
    PredictedSeries(NOTHING, NOTHING, NOTHING),
    SpeedSeries(NOTHING, NOTHING, 1.0, None),
    ProfileSeries(NOTHING, NOTHING),
    StretchSeries(NOTHING, NOTHING, NOTHING, NOTHING, NOTHING, NOTHING),
    WaySeries(NOTHING, NOTHING, NOTHING, NOTHING, NOTHING),
    None,
)
"""What the charts of a drive show of which nothing is known."""


def series() -> Series:
    """What the charts of the invented drive show; always the same."""
    rng = np.random.default_rng(6)
    at = np.linspace(8.0, 246.0, 30)
    charge = np.round(100.0 * (1.0 - at / REACHED_KM))
    used = 100.0 - charge
    projected = at / np.maximum(used, 0.5) * 100.0
    half = projected * 1.0 / np.maximum(used, 1.0)
    left = np.round(np.maximum(0.0, 300.0 * charge / 100.0 - 0.05 * at + rng.normal(0.0, 3.0, 30)))
    wide = np.diff(np.concatenate(([0.0], at)))
    rate = 40.0 + 4.0 * np.sin(at / 40.0)
    angle = np.linspace(0.0, 4.0 * np.pi, 1500)
    places = angle[np.linspace(20, 1490, 30).astype(int)]
    lower = np.arange(0.0, 100.0, 1.0)
    seconds = 9000.0 * np.exp(-0.5 * ((lower + 0.5 - 90.0) / 1.2) ** 2) / 3.0
    seconds[0] = 180.0
    return Series(
        ChargeSeries(at, charge),
        ProjectedSeries(at, projected, projected - half, projected + half, np.round(projected, -1)),
        PredictedSeries(at, left, at + left),
        SpeedSeries(lower, seconds, 1.0, 90.0),
        ProfileSeries(np.linspace(0, 250, 400), 120.0 + 60.0 * np.sin(np.linspace(0, 25, 400))),
        StretchSeries(at - wide, at, rate, rate - 5.0, rate + 5.0, rate * 4.0),
        WaySeries(*_loop(angle), *_loop(places), charge),
        REACHED_KM,
    )


def _loop(angle: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return (
        45.0 + 0.17 * np.sin(angle) * (1.0 + 0.2 * np.cos(3 * angle)),
        9.0 + 0.3 * np.cos(angle),
    )


ANSWER = Section(
    "answer",
    "The answer",
    (
        Line(
            "range_at_zero",
            "Range at 0 % shown",
            Figure(
                249.2, "km", 247.1, 251.3, "the dash's rounding of charge and trip", remark="By trip meter."
            ),
        ),
        Line(
            "consumption", "Consumption", Figure(160.4, "Wh/km", 155.0, 165.9, "the rounding of the charge")
        ),
        Line(
            "corrected_range",
            "Range in still air at 20 °C",
            Figure(255.0, "km", 231.0, 279.0, "the class default's spread", estimate=True),
        ),
        Line("honesty", "Honesty of the dash", Absent("No predicted range was read off.")),
    ),
)
SECTIONS = (
    Section(
        "conditions",
        "Conditions",
        (
            Line(
                "temperature", "Temperature outside", Figure(16.8, "degC", 15.9, 17.7, "the display's step")
            ),
            Line("air_density", "Air density", Figure(1.2041, "kg/m3")),
            Line("climb", "Climb in all", Figure(812.0, "m", 790.0, 834.0, "the noise of GPS altitude")),
            Line("wind", "Wind along the track", Absent("No wind is told on the sheet under wind_mps.")),
        ),
    ),
    Section(
        "range",
        "Range",
        (
            Line("range_by_trip", "By trip meter", Figure(249.2, "km", 247.1, 251.3, "rounding")),
            Line(
                "factor",
                "Trip meter over GPS",
                Figure(1.0123, "", 1.0101, 1.0145, "rounding of the trip meter"),
            ),
            Line("stops", "Stops", Figure(3.0, "")),
            Line("moving_time", "Time moving", Figure(9912.0, "s")),
        ),
        (
            Table(
                "charge_bands",
                (
                    Column("from_pct", Kind.NUMBER, "%", "Charge where the band begins."),
                    Column("to_pct", Kind.NUMBER, "%", "Charge where it ends."),
                    Column("distance_km", Kind.NUMBER, "km", "Distance driven in it."),
                    Column("remark", Kind.TEXT, "", "What to know.", "nothing"),
                ),
                (
                    (Decimal(100), Decimal(90), Decimal("24.9"), None),
                    (Decimal(90), Decimal(80), Decimal("25.13"), "over the pass"),
                ),
            ),
        ),
        ("Stops are counted, not cut out.",),
    ),
)


def observed(
    *,
    doubts: tuple[Entry, ...] = (),
    track: Track | None = None,
    test: dict[str, str | int | float | bool] | None = None,
    distances: Distances = "km",
) -> Observed:
    """What the results started from, without any readings."""
    return Observed(
        Drive(BEGAN, ""),
        MappingProxyType({}),
        (),
        doubts,
        track,
        MappingProxyType(test or {}),
        None,
        distances,
    )


def results(
    seen: Observed | None = None,
    *,
    shown: Series | None = None,
    doubts: tuple[str, ...] = (),
    answer: Section = ANSWER,
    sections: tuple[Section, ...] = SECTIONS,
    cautions: tuple[str, ...] = ("One drive is one sample.",),
) -> Results:
    """The results of the invented drive."""
    return Results(
        observed() if seen is None else seen,
        answer,
        sections,
        series() if shown is None else shown,
        doubts,
        cautions,
    )
