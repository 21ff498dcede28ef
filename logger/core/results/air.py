"""The air of the drive: its temperature, its pressure and its density. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logger.core.results.air_density import (
    ZERO_C_IN_K,
    density_kg_m3,
    lifted_pa,
    standard_pressure_pa,
)
from logger.core.results.figures import Absent, Figure, Line, Section
from logger.core.results.ground import Ground, ground_of
from logger.core.results.observed import Observed
from logger.core.results.telling import within
from logger.core.results.told import told_by

READ_SD_K = 1.0
"""Of a car's thermometer under way (judgement; not measured)."""
TOLD_SD_K = 2.0
"""Of one temperature for a whole drive."""
PRESSURE_SD_PA = 100.0
"""Of a pressure that the sheet tells."""
WEATHER_SD_PA = 1_000.0
"""Of the pressure of the day about the standard atmosphere (judgement: most days are within 20 hPa)."""
ASSUMED_HUMIDITY_PCT = 50.0
HUMIDITY_SD_PCT = 25.0
"""Of the assumed humidity; a told one is taken as it is."""

REFERENCE_C = 20.0
REFERENCE_PA = 98_210.0
"""The reference conditions of SAE J2263 (from a second-hand summary; see docs/method.md)."""
REFERENCE_KG_M3 = density_kg_m3(REFERENCE_PA, REFERENCE_C)
"""Dry: 1.16709."""


@dataclass(frozen=True, slots=True)
class Air:
    """The air that the car went through, on average.

    Attributes:
        celsius, celsius_sd: its temperature.
        pressure_pa: its pressure at the mean altitude.
        kg_m3: its density.
        other_sd: the standard deviation of the density by all but the temperature, as a share of it.
        read: whether the temperature was read off under way.
        remarks: where pressure and humidity come from, a sentence each.
    """

    celsius: float
    celsius_sd: float
    pressure_pa: float
    kg_m3: float
    other_sd: float
    read: bool
    remarks: tuple[str, ...]

    @property
    def sd_kg_m3(self) -> float:
        """The standard deviation of the density."""
        return self.kg_m3 * float(np.hypot(self.celsius_sd / (self.celsius + ZERO_C_IN_K), self.other_sd))


def air_of(seen: Observed) -> Air | str:
    """Return the air of a drive; a sentence where it cannot be told."""
    temperature = temperature_of(seen)
    if isinstance(temperature, str):
        return temperature
    celsius, celsius_sd, read = temperature
    told = told_by(seen.test)
    ground = None if seen.track is None else ground_of(seen.track)
    mean_m = float(ground.height_m.mean()) if isinstance(ground, Ground) else _raw_mean(seen)
    pressure = told.get("pressure")
    if pressure is None and mean_m is None:
        return "There is neither an altitude nor a pressure; write pressure_hPa on the sheet."
    remarks = []
    if pressure is None:
        assert mean_m is not None
        pascal, pressure_sd = standard_pressure_pa(mean_m), WEATHER_SD_PA
        remarks.append(
            f"The pressure is that of the standard atmosphere (ISO 2533) at the mean altitude of {mean_m:.0f} m."
        )
    else:
        rise_m = float(ground.height_m.mean() - ground.height_m[0]) if isinstance(ground, Ground) else 0.0
        pascal, pressure_sd = lifted_pa(100.0 * pressure, celsius, rise_m), PRESSURE_SD_PA
        remarks.append("The pressure is the sheet's, brought from the start to the mean altitude.")
    humidity = told.get("humidity")
    damp, damp_sd = (ASSUMED_HUMIDITY_PCT, HUMIDITY_SD_PCT) if humidity is None else (humidity, 0.0)
    density = density_kg_m3(pascal, celsius, damp)
    if humidity is None:
        remarks.append(f"The sheet tells no humidity; {ASSUMED_HUMIDITY_PCT:g} % is assumed.")
    by_humidity = 1.0 - density_kg_m3(pascal, celsius, min(100.0, damp + damp_sd)) / density
    other_sd = float(np.hypot(pressure_sd / pascal, by_humidity))
    return Air(celsius, celsius_sd, pascal, density, other_sd, read, tuple(remarks))


def temperature_of(seen: Observed) -> tuple[float, float, bool] | str:
    """Return the mean temperature in degC, its standard deviation, and whether it was read off; a sentence where there is none."""
    readings = seen.of("outside_temperature")
    if readings:
        at_s = np.array([each.at_s for each in readings])
        values = np.array([each.value for each in readings])
        begin_s, end_s = (float(at_s[0]), float(at_s[-1]))
        if seen.track is not None:
            begin_s = min(begin_s, seen.seconds(seen.track.began_utc_ns))
            end_s = max(end_s, seen.seconds(seen.track.ended_utc_ns))
        times = np.linspace(begin_s, end_s, 2_001)
        return float(np.interp(times, at_s, values).mean()), READ_SD_K, True
    told = told_by(seen.test).get("temperature")
    if told is None:
        return "No outside temperature was read off, and the sheet tells no temperature_degC."
    return told, TOLD_SD_K, False


def _raw_mean(seen: Observed) -> float | None:
    """Return the median of the altitudes as they came, where there are too few for a profile."""
    if seen.track is None or not np.isfinite(seen.track.altitude_m).any():
        return None
    median = float(np.nanmedian(seen.track.altitude_m))
    return median if -500.0 <= median <= 9_000.0 else None


def air(seen: Observed) -> Section:
    """Return temperature, pressure and density of the air."""
    found = air_of(seen)
    labels = {"temperature": "Mean outside temperature", "pressure": "Mean air pressure"}
    labels |= {"density": "Air density", "density_against_reference": "Density against the reference"}
    if isinstance(found, str):
        lines = [Line(key, label, Absent(found)) for key, label in labels.items()]
        temperature = temperature_of(seen)
        if not isinstance(temperature, str):
            lines[0] = Line("temperature", labels["temperature"], _temperature(*temperature))
        return Section("air", "Air", tuple(lines))
    covers = "temperature, pressure and humidity as well as they are known here"
    share = 100.0 / REFERENCE_KG_M3
    answers = (
        _temperature(found.celsius, found.celsius_sd, found.read),
        Figure(found.pressure_pa / 100.0, "hPa", remark=found.remarks[0]),
        within(found.kg_m3, "kg/m3", found.sd_kg_m3, covers),
        within(
            share * found.kg_m3 - 100.0,
            "%",
            share * found.sd_kg_m3,
            covers,
            remark=f"The reference is {REFERENCE_C:g} degC and {REFERENCE_PA / 1000.0:g} kPa (SAE J2263): {REFERENCE_KG_M3:.4f} kg/m3.",
        ),
    )
    lines = [Line(key, label, answer) for (key, label), answer in zip(labels.items(), answers, strict=True)]
    return Section("air", "Air", tuple(lines), remarks=found.remarks)


def _temperature(celsius: float, sd: float, read: bool) -> Figure:  # noqa: FBT001
    remark = (
        "The mean over the drive of what was read off."
        if read
        else "The sheet's; no outside temperature was read off."
    )
    return within(
        celsius, "degC", sd, f"the thermometer, taken to be right within {2.0 * sd:g} K", remark=remark
    )
