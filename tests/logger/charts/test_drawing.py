"""Charts are drawn alike every time, whatever is missing, without touching what others have set in matplotlib."""

from __future__ import annotations

import re
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace

import matplotlib as mpl
import numpy as np
import pytest
from made_results import NO_SERIES, series

from logger.charts import Drawing, draw
from logger.core.reporting.chart_words import along, charts_of
from logger.core.reporting.figure_words import ShownUnits
from logger.core.results.series import ChargeSeries, ProjectedSeries, Series, SpeedSeries, WaySeries, floats

KM = ShownUnits("km")
BY_GPS = along(by_gps=True)
KEYS = ["charge", "projected", "predicted", "speed", "altitude", "consumption", "way"]


def drawn(shown: Series, units: ShownUnits = KM) -> dict[str, Drawing]:
    """Charts by key."""
    return {each.chart.key: each for each in draw(charts_of(shown, units, BY_GPS), shown, units, BY_GPS)}


@pytest.fixture(scope="module")
def all_of_them() -> dict[str, Drawing]:
    """The charts of the invented drive."""
    return drawn(series())


def test_all_are_drawn_and_only_those_that_can_be(all_of_them: dict[str, Drawing]) -> None:
    """Seven, or those of which something is known."""
    assert KEYS == list(all_of_them)
    assert [] == list(drawn(NO_SERIES))
    assert ["altitude"] == list(drawn(replace(NO_SERIES, profile=series().profile)))


def test_the_same_twice(all_of_them: dict[str, Drawing]) -> None:
    """Same bytes from the same numbers, in a file and in a page: no date, no random ids."""
    again = drawn(series())
    for key in ("charge", "way"):
        assert all_of_them[key].svg() == again[key].svg()
        assert all_of_them[key].inline() == again[key].inline()
    assert all_of_them["speed"].png() == again["speed"].png()
    assert not re.search(rb"<dc:date>|20\d\d-\d\d-\d\d", again["charge"].svg())


def test_files_say_what_they_are(all_of_them: dict[str, Drawing]) -> None:
    """An SVG is well formed with title and description; a PNG begins as the standard says (ISO/IEC 15948, section 5.2)."""
    svg = all_of_them["charge"].svg()
    texts = [each.text for each in ET.fromstring(svg).iter() if each.text and each.text.strip()]
    assert "Charge over distance" in texts
    assert any(text.startswith("Charge read off against") for text in texts)
    assert all_of_them["way"].png().startswith(b"\x89PNG\r\n\x1a\n")


def settings() -> dict[str, object]:
    """What is set in matplotlib; asking for its backend would load pyplot."""
    return {name: mpl.rcParams[name] for name in mpl.rcParams if not name.startswith("backend")}


def test_nothing_global_is_left_behind() -> None:
    """The settings are as before, also where somebody's own differ, and pyplot with its global figures was never loaded."""
    with mpl.rc_context({"lines.linewidth": 17.0, "font.size": 40.0}):
        before = settings()
        mine = drawn(replace(NO_SERIES, profile=series().profile))["altitude"].svg()
        assert before == settings()
    assert mine == drawn(replace(NO_SERIES, profile=series().profile))["altitude"].svg()
    assert "matplotlib.pyplot" not in sys.modules


def test_one_point_is_enough() -> None:
    """A drive with one checkpoint has charts of it, without a warning (the tests make errors of those)."""
    one, nothing = floats((5.0,)), floats((np.nan,))
    shown = replace(
        NO_SERIES,
        charge=ChargeSeries(one, floats((97.0,))),
        projected=ProjectedSeries(one, floats((166.0,)), nothing, nothing, nothing),
        speed=SpeedSeries(floats((0.0,)), floats((60.0,)), 1.0, None),
        way=WaySeries(floats((45.0, 45.0)), floats((9.0, 9.0)), floats((45.0,)), floats((9.0,)), nothing),
    )
    for each in drawn(shown).values():
        assert each.svg()


def test_wild_numbers_do_no_harm() -> None:
    """Bands as wide as the Earth, charge rising past 100, a projection of nothing at all."""
    at = floats((1.0, 2.0, 3.0))
    shown = replace(
        NO_SERIES,
        charge=ChargeSeries(at, floats((100.0, 101.0, 0.0))),
        projected=ProjectedSeries(
            at, floats((100.0, np.nan, 300.0)), floats((-4e4, 0.0, 1.0)), floats((4e4, 1.0, 1e9)), at
        ),
    )
    for each in drawn(shown).values():
        assert each.png()
