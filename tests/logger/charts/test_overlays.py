"""Charts of several drives: what is drawn is what is there, and drives can be told apart without colours."""

from __future__ import annotations

import re

import pytest
from compared import summary

from logger.charts import draw_overlays
from logger.charts.overlays import STYLES
from logger.core.comparing.overlay import KINDS, Overlay, overlay
from logger.core.comparing.rows import MANY
from logger.core.comparing.whole import compared
from logger.core.reporting.figure_words import ShownUnits

KM = ShownUnits("km")
ROWS = tuple(
    (float(km), 50, *(100.0 - km / 5.0 + off for off in (-9, -4, 0, 4, 9))) for km in range(0, 400, 10)
)


def of(count: int) -> Overlay:
    """The chart of charge of so many drives."""
    return overlay(compared((f"drive {k}", summary()) for k in range(count)), KINDS[0], ROWS, KM)


def test_each_of_a_few_has_a_style_of_its_own() -> None:
    """Twelve pairs of line style and colour, no two alike: as many as have a line."""
    assert MANY == len(set(STYLES))


@pytest.mark.parametrize("count", [1, 2, MANY])
def test_lines(count: int) -> None:
    """A line and a disc for each drive, and its name in the key, with what is shown told to who cannot see it."""
    (drawing,) = draw_overlays((of(count),), KM)
    svg = drawing.inline()

    assert 2 * count <= len(re.findall(r'id="charge-line2d_\d+"', svg))
    assert "Charge over distance of" in svg
    assert "var(--chart-blue)" in svg
    assert len(drawing.png()) > 10_000


def test_bands_need_no_more_room_for_more_drives() -> None:
    """Three hundred drives make the same marks as thirteen."""
    thirteen, hundreds = (draw_overlays((of(count),), KM)[0].inline() for count in (MANY + 1, 300))

    assert len(thirteen) == pytest.approx(len(hundreds), rel=0.02)
    assert 'id="charge-FillBetweenPolyCollection_2"' in hundreds


def test_a_missing_chart_is_not_drawn() -> None:
    """There is nothing to draw, as the page says."""
    nothing = overlay(compared((f"d{k}", summary()) for k in range(MANY + 1)), KINDS[0], (), KM)

    assert () == draw_overlays((nothing,), KM)
