"""The air of a drive: where its numbers come from, and what is said of them."""

from __future__ import annotations

import numpy as np
import pytest
from ambiance import Atmosphere
from tracked_drives import reading, seen_of, straight

from logger.core.results.air import REFERENCE_KG_M3, Air, air, air_of, temperature_of
from logger.core.results.figures import Absent, Figure

ROAD = straight(90.0, np.arange(0.0, 20_000.0, 25.0), lambda driven: np.full(len(driven), 1000.0))


def test_the_reference_is_that_of_sae_j2263() -> None:
    """20 degC and 98.21 kPa, dry: 1.16709 kg/m3 (shared/check-values.md, section 2)."""
    assert pytest.approx(1.16709, abs=1e-5) == REFERENCE_KG_M3


def test_standard_pressure_at_the_tracks_altitude() -> None:
    """At 1000 m by ambiance, and said so; 50 % of humidity is assumed."""
    found = air_of(seen_of(ROAD, {"temperature_degC": 8.5}))

    assert isinstance(found, Air)
    assert pytest.approx(float(Atmosphere(1000.0).pressure[0]), rel=1e-4) == found.pressure_pa
    assert pytest.approx(float(Atmosphere(1000.0).density[0]), rel=4e-3) == found.kg_m3
    assert "standard atmosphere (ISO 2533) at the mean altitude of 1000 m" in found.remarks[0]
    assert "no humidity" in found.remarks[1]
    # A day's weather is 10 hPa of 899, humidity 0.1 %, a temperature for the whole drive 2 K of 282.
    assert pytest.approx(1.112 * np.hypot(10 / 899, 2 / 282), rel=0.02) == found.sd_kg_m3


def test_the_sheets_pressure_counts_where_the_drive_began() -> None:
    """It is brought to the mean altitude: 400 m of climb at an even rate are 200 m on average, 23.5 hPa less."""
    road = straight(90.0, np.arange(0.0, 20_000.0, 25.0), lambda driven: 300.0 + driven / 50.0)
    found = air_of(seen_of(road, {"temperature_degC": 10, "pressure_hPa": 980, "humidity_pct": 0}))

    assert isinstance(found, Air)
    assert (
        pytest.approx(98_000.0 * np.exp(-9.80665 * 200.0 / (287.05287 * 283.15)), rel=2e-4)
        == found.pressure_pa
    )
    assert "The pressure is the sheet's" in found.remarks[0]
    assert 1 == len(found.remarks)


def test_readings_count_by_their_time() -> None:
    """10 degC for the first quarter, then rising to 20: not the mean of the readings."""
    readings = [
        reading("outside_temperature", at_s, value, "degC") for at_s, value in ((0, 10), (200, 10), (799, 20))
    ]
    seen = seen_of(
        ROAD, {"temperature_degC": 3}, readings={"outside_temperature": tuple(each for _, each in readings)}
    )

    celsius, _, read = temperature_of(seen)  # type: ignore[misc]
    assert read
    assert pytest.approx(10.0 + 5.0 * 599 / 799, abs=0.05) == celsius
    answer = air(seen).answer("temperature")
    assert isinstance(answer, Figure)
    assert (answer.low, answer.high) == (
        pytest.approx(answer.value - 1.96),
        pytest.approx(answer.value + 1.96),
    )


@pytest.mark.parametrize(
    ("fixes", "test", "why"),
    [
        (ROAD, {}, "write temperature_degC"),
        (None, {"temperature_degC": 20}, "write pressure_hPa"),
        (straight(90.0, np.arange(0.0, 9_000.0, 25.0)), {"temperature_degC": 20}, "write pressure_hPa"),
    ],
)
def test_what_is_missing_is_said(fixes: list | None, test: dict[str, float], why: str) -> None:  # type: ignore[type-arg]
    """No density, and how to have it next time."""
    answer = air(seen_of(fixes, test)).answer("density")

    assert isinstance(answer, Absent)
    assert why.removeprefix("write ") in answer.why


def test_a_pressure_does_without_a_track() -> None:
    """20 degC, 98.21 kPa, dry: the reference itself."""
    seen = seen_of(None, {"temperature_degC": 20, "pressure_hPa": 982.1, "humidity_pct": 0})
    answer = air(seen).answer("density_against_reference")

    assert isinstance(answer, Figure)
    assert pytest.approx(0.0, abs=1e-9) == answer.value
    assert "1.1671 kg/m3" in answer.remark
