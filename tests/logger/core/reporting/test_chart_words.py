"""Each chart says in numbers what it shows, or why it is not there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made_results import NO_SERIES, series

from logger.core.reporting.chart_words import Chart, along, charts_of, consumption, place_text
from logger.core.reporting.figure_words import ShownUnits

KM = ShownUnits("km")
BY_GPS = along(by_gps=True)


def charts(units: ShownUnits = KM) -> dict[str, Chart]:
    """The charts of the invented drive, by key."""
    return {each.key: each for each in charts_of(series(), units, BY_GPS)}


def test_each_chart_tells_its_numbers() -> None:
    """Whoever cannot see it hears how many points, from where to where, and what was reached."""
    told = {key: each.shows for key, each in charts().items()}

    assert (
        "Charge read off against distance by GPS: 30 readings, from 97 % at 8 km to 1 % at 246 km. 0 % was shown at 249 km."
        == told["charge"]
    )
    assert "first 270 km (95 %: 180 to 360)" in told["projected"]
    assert "first 302 km, last 246 km" in told["predicted"]
    assert "between 89 and 90 km/h. The target was 90 km/h." in told["speed"]
    assert "from 60 m to 180 m" in told["altitude"]
    assert "30 stretches" in told["consumption"]
    assert "30 checkpoints, with charge from 97 % to 1 %." in told["way"]
    assert not any(each.missing for each in charts().values())


def test_in_miles() -> None:
    """All of it is told in the units of the report."""
    told = {key: each.shows for key, each in charts(ShownUnits("mi", "degF")).items()}

    assert "at 5.0 mi" in told["charge"]
    assert "from 197 ft to 591 ft" in told["altitude"]
    assert "Wh/mi" in told["consumption"]
    assert not any(" km" in text or " m;" in text for text in told.values())


def test_what_is_missing_says_why() -> None:
    """A drive of which nothing is known has seven charts that are not there, each with its reason."""
    missing = charts_of(NO_SERIES, KM, along(by_gps=False))

    assert 7 == len(missing)
    assert all(each.missing.endswith(".") and not each.shows for each in missing)


def test_the_axis_follows_what_distance_is_known() -> None:
    """Without a track the charts go along the trip meter, and say so."""
    told = charts_of(series(), KM, along(by_gps=False))
    assert "against distance by trip meter" in told[0].shows


def test_consumption_keeps_the_share_of_its_interval() -> None:
    """Told in Wh/km, an interval is as wide beside its value as it was in percent of charge."""
    values, low, high, unit = consumption(series())
    shown = series().stretches

    assert "Wh/km" == unit
    assert pytest.approx(shown.low_pct_per_100km / shown.pct_per_100km) == low / values
    assert pytest.approx(shown.high_pct_per_100km / shown.pct_per_100km) == high / values


def test_consumption_without_usable_energy() -> None:
    """Is told in percent of charge per 100 km."""
    whole = series()
    nothing = np.full_like(whole.stretches.wh_per_km, np.nan)
    told = replace(whole, stretches=replace(whole.stretches, wh_per_km=nothing))

    assert "%/100km" == consumption(told)[3]
    assert "% per 100 km" in {each.key: each for each in charts_of(told, KM, BY_GPS)}["consumption"].shows


def test_places_south_and_west() -> None:
    """Letters, not signs."""
    assert "33.900° S 18.400° W" == place_text(-33.9, -18.4)
