"""Summaries of made-up drives, to be compared."""

from __future__ import annotations

from dataclasses import replace

from logger.core.comparing.summary import FIGURES, Conditions, Course, Summary
from logger.core.results.figures import Absent, Figure, Line

ALIKE = Conditions(
    temperature_c=15.0,
    wind_kmh=8.0,
    speed_kmh=110.0,
    start_pct=100.0,
    usable_kwh=60.0,
    apart_km=0.1,
    driven_km=400.0,
    climb_m=3.0,
    charged="",
    tyres="tyres summer 18",
    ruler="gps",
    doubts=0,
)
"""Conditions that nothing is said against."""


def summary(range_km: float | None = 400.0, **conditions: object) -> Summary:
    """A drive whose projected range is known or not, with some conditions other than `ALIKE`."""
    told = (
        Figure(range_km, "km", range_km - 5.0, range_km + 6.0, "rounding") if range_km is not None else None
    )
    return Summary(
        began_utc_ns=1_935_558_000_000_000_000,
        distances="km",
        figures=tuple(
            Line(each.key, each.label, told if told is not None and each.key == "range_projected" else Absent("It was not read off."))
            for each in FIGURES
        ),
        conditions=replace(ALIKE, **conditions),  # type: ignore[arg-type]
        charge=Course((0.0, 200.0, 400.0), (100.0, 52.0, 3.0)),
        projected=Course((200.0, 400.0), (410.0, range_km or 400.0)),
    )  # fmt: skip
