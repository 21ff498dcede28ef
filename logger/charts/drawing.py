"""Draws the charts and writes them, as part of a page or as files of their own; the same input gives the same bytes.

matplotlib is imported only here and where charts are drawn, inside functions: its import takes half a second. Nothing of it that
is global is changed for longer than a drawing lasts, and its `pyplot` is never used.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from typing import TYPE_CHECKING, Any

from logger.charts import distances, ground, speeds
from logger.charts.inline import inline
from logger.charts.look import HEIGHT_IN, PAPER, PNG_DPI, SETTINGS, WIDTH_IN
from logger.charts.overlays import overlaid
from logger.core.comparing.overlay import Overlay
from logger.core.reporting.chart_words import Along, Chart
from logger.core.reporting.figure_words import ShownUnits
from logger.core.results.series import Series

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_Drawer = Callable[["Figure", Series, ShownUnits, Along], None]
_DRAWERS: Mapping[str, _Drawer] = {
    "charge": distances.charge,
    "projected": distances.projected,
    "predicted": distances.predicted,
    "speed": speeds.speed,
    "altitude": distances.altitude,
    "consumption": distances.consumption,
    "way": ground.way,
}
_HEIGHT_IN = {"way": 4.4}


class Drawing:
    """One chart, drawn."""

    def __init__(self, chart: Chart, figure: Figure) -> None:
        self.chart = chart
        self._figure = figure

    def inline(self) -> str:
        """Return it as an SVG element to be put into a page whose style has the colours of `look.ROLES`."""
        return inline(self._saved("svg", "none").decode(), self.chart)

    def svg(self) -> bytes:
        """Return it as an SVG file."""
        return self._saved("svg", PAPER)

    def png(self) -> bytes:
        """Return it as a PNG file."""
        return self._saved("png", PAPER)

    def _saved(self, form: str, paper: str) -> bytes:
        about: dict[str, Any] = {"Title": self.chart.title, "Description": self.chart.shows}
        about |= {"Creator": "odovox", "Date": None} if form == "svg" else {"Software": "odovox"}
        stream = io.BytesIO()
        with _settings():
            self._figure.savefig(stream, format=form, dpi=PNG_DPI, facecolor=paper, metadata=about)
        return stream.getvalue()


def draw(charts: tuple[Chart, ...], series: Series, units: ShownUnits, axis: Along) -> tuple[Drawing, ...]:
    """Draw those of the charts that are not missing."""

    def drawn(chart: Chart) -> Drawing:
        return _drawn(chart, lambda figure: _DRAWERS[chart.key](figure, series, units, axis))

    return tuple(drawn(chart) for chart in charts if not chart.missing)


def draw_overlays(shown: Sequence[Overlay], units: ShownUnits) -> tuple[Drawing, ...]:
    """Draw those of the charts of several drives that are not missing."""
    return tuple(
        _drawn(each.chart, partial(overlaid, shown=each, units=units))
        for each in shown
        if not each.chart.missing
    )


def _drawn(chart: Chart, make: Callable[[Figure], None]) -> Drawing:
    # A home that cannot be written to is nothing that the reader of a report need hear of.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with _settings():
        figure = Figure(figsize=(WIDTH_IN, _HEIGHT_IN.get(chart.key, HEIGHT_IN)))
        FigureCanvasAgg(figure)
        make(figure)
    return Drawing(chart, figure)


@contextmanager
def _settings() -> Iterator[None]:
    """Our settings, whatever a file of the user's says; the old ones are back afterwards."""
    import matplotlib as mpl

    with mpl.rc_context():
        # Asking for its backend would load pyplot.
        names = [name for name in mpl.rcParamsDefault if not name.startswith("backend")]
        settings: Any = {name: mpl.rcParamsDefault[name] for name in names} | dict(SETTINGS)
        mpl.rcParams.update(settings)
        yield
