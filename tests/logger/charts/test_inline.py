"""An SVG in a page: the page's colours, names of its own, words for a screen reader."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest
from made_results import series

from logger.charts import draw
from logger.charts.inline import inline
from logger.core.reporting.chart_words import Chart, along, charts_of
from logger.core.reporting.figure_words import ShownUnits

KM, AXIS = ShownUnits("km"), along(by_gps=True)


@pytest.fixture(scope="module")
def elements() -> dict[str, str]:
    """All charts as elements of a page."""
    shown = series()
    return {each.chart.key: each.inline() for each in draw(charts_of(shown, KM, AXIS), shown, KM, AXIS)}


def test_ids_never_clash_and_always_lead_somewhere(elements: dict[str, str]) -> None:
    """Seven charts in one page: every id is there once, and whatever is pointed at exists."""
    page = "".join(elements.values())
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'href="#([^"]+)"|url\(#([^)]+)\)', page)) != set()
    for href, url in re.findall(r'href="#([^"]+)"|url\(#([^)]+)\)', page):
        assert (href or url) in ids


def test_colours_are_the_pages(elements: dict[str, str]) -> None:
    """No colour is written out, so none stays light in the dark."""
    for element in elements.values():
        assert not re.search(r"#[0-9a-f]{6}\b", element)
        assert "var(--chart-" in element


def test_well_formed_and_named(elements: dict[str, str]) -> None:
    """An element that scales, with the words of the chart, and nothing that is loaded."""
    for element in elements.values():
        root = ET.fromstring(element.replace("<svg ", '<svg xmlns:xlink="http://www.w3.org/1999/xlink" ', 1))
        assert "img" == root.get("role")
        assert root.get("aria-label")
        assert root.get("width") is None
        assert root.get("viewBox")
        assert not re.search(r"https?:|<style|<script|<metadata", element)


def test_words_are_escaped() -> None:
    """Whatever they are."""
    chart = Chart("x", "X", '"><script>', "", "")
    made = inline('<?xml version="1.0"?><svg width="1pt" viewBox="0 0 1 1"><g id="a"/></svg>', chart)
    assert (
        '<svg viewBox="0 0 1 1" role="img" aria-label="&quot;&gt;&lt;script&gt;"><g id="x-a"/></svg>' == made
    )
