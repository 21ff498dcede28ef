"""A stored drive's report: what goes into it, and its forms. The drive is only read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from logger.core.reporting.figure_words import ShownUnits, Temperatures
from logger.core.reporting.making import Recorded, axis_of, report_of
from logger.core.reporting.report import Report
from logger.core.reporting.report_json import report_json
from logger.core.results.observed import Observed
from logger.core.results.whole import Results, work_out
from logger.core.units import Distances
from logger.store import DriveStore
from logger.store.drive_store import this_software
from logger.store.lock import recorder_of
from logger.wiring.log_table import places_on
from logger.wiring.reporting import observed_in
from logger.wiring.sheets import sheet_from

if TYPE_CHECKING:
    from logger.charts import Drawing

_NEVER_ENDED = (
    "This drive never ended: its sound was not taken in to its end, and calls after that are missing. "
    "The command that recorded it or took it in goes on with it."
)

ReportFormat = Literal["html", "md", "json"]
ChartFormat = Literal["svg", "png"]


@dataclass(frozen=True, slots=True)
class ChartFile:
    """A chart on its way to a file: its key, and what makes its bytes."""

    key: str
    content: Callable[[], bytes]


class DriveReport:
    """The report on one drive, in whatever form is asked for; each part of it is worked out once.

    Args:
        folder: the drive's.
        distances: what to tell it in; None is what the driver's dash counts in.

    Raises:
        OdovoxError: there is no drive in the folder, it cannot be read, or its own sheet has a mistake.
    """

    def __init__(self, folder: Path, distances: Distances | None = None) -> None:
        with DriveStore.open(folder, readonly=True) as store:
            observed = observed_in(store)
            self._recorded = _recorded(folder, store, observed)
            temperatures = _temperatures(store)
        self._results = work_out(observed)
        self._units = ShownUnits(distances or observed.distances, temperatures)

    @property
    def results(self) -> Results:
        """What the drive comes to."""
        return self._results

    @property
    def needs_human(self) -> bool:
        """Whether something is in doubt."""
        return bool(self._results.doubts or self._results.observed.doubts)

    @cached_property
    def report(self) -> Report:
        """All that its pages show."""
        return report_of(self._results, self._recorded, self._units)

    @cached_property
    def _drawings(self) -> tuple[Drawing, ...]:
        from logger.charts import draw

        return draw(self.report.charts, self._results.series, self._units, axis_of(self._results))

    def html(self) -> str:
        """Return it as one HTML file."""
        from logger.pages import html_page

        return html_page(self.report, {each.chart.key: each.inline() for each in self._drawings})

    def markdown(self, pictures: dict[str, str] | None = None) -> str:
        """Return it as Markdown; `pictures` says where the files of the charts are, by key, as seen from the page."""
        from logger.pages import markdown_page

        return markdown_page(self.report, pictures or {})

    def json(self) -> str:
        """Return it as one line of JSON."""
        return report_json(self._results, self._recorded, self._units) + "\n"

    def chart_files(self, form: ChartFormat) -> tuple[ChartFile, ...]:
        """Return the charts as files; those that are missing are not among them."""
        return tuple(
            ChartFile(each.chart.key, each.svg if form == "svg" else each.png) for each in self._drawings
        )


def _recorded(folder: Path, store: DriveStore, observed: Observed) -> Recorded:
    return Recorded(
        name=folder.resolve().name,
        entries=store.entries(),
        decisions=store.decisions(),
        place_at=places_on(observed.track),
        state=_state(folder, store),
        software=this_software(),
    )


def _state(folder: Path, store: DriveStore) -> tuple[str, ...]:
    """Return what is to be said of the drive itself."""
    recorder = recorder_of(folder)
    sources = store.sources()
    if recorder is not None:
        return (
            f"This drive is being recorded just now ({recorder}): the report is about what was heard until now.",
        )
    if not sources:
        return ("No sound was taken in yet, so nothing can have been heard.",)
    if any(each.sample_count is None for each in sources):
        return (_NEVER_ENDED,)
    return ()


def _temperatures(store: DriveStore) -> Temperatures:
    """Return the degrees that the driver's dash shows."""
    sheet = sheet_from(store.drive().sheet_toml, f"the sheet of {store.folder}").sheet
    shown = [each.unit for each in sheet.phrasebook.quantities if each.unit in {"degC", "degF"}]
    return "degF" if shown[:1] == ["degF"] else "degC"
