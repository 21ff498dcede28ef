"""Pictures of reports for docs/report.md: of the sample drive, and of a simulated one of five hours.

`make report-pictures` writes them into docs/; the tests make one too, into a folder of their own.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from browser import Scheme, chromium
from heard import Remembering
from reported_drives import five_hours
from sample_drive import SAMPLES

from logger.core.units import Distances
from logger.wiring.demo import find_sample, ingest_sample
from logger.wiring.reported import DriveReport

if TYPE_CHECKING:
    from playwright.sync_api import Browser

DOCS = Path(__file__).resolve().parents[2] / "docs"
WIDE_PX, NARROW_PX = 1200, 390


def take(
    browser: Browser,
    page: Path,
    picture: Path,
    *,
    width: int = WIDE_PX,
    scheme: Scheme = "light",
    until: str | None = None,
    start: str = "body",
) -> None:
    """Take a picture of a page, from an element to where another begins, or of a screenful."""
    context = browser.new_context(viewport={"width": width, "height": 1000}, color_scheme=scheme)
    seen = context.new_page()
    seen.goto(page.as_uri())
    top = seen.evaluate(f"document.querySelector('{start}').getBoundingClientRect().top + scrollY")
    bottom = top + 1000
    if until is not None:
        bottom = seen.evaluate(f"document.querySelector('{until}').getBoundingClientRect().top + scrollY")
    clip = {"x": 0.0, "y": float(top), "width": float(width), "height": float(bottom - top)}
    seen.screenshot(path=picture, full_page=True, clip=clip)  # type: ignore[arg-type]
    context.close()


def report_page(drive: Path, place: Path, distances: Distances | None = None) -> Path:
    """Write a drive's report beside it and return where."""
    page = place / f"{drive.name}-{distances}.html"
    page.write_text(DriveReport(drive, distances).html(), encoding="utf-8")
    return page


def take_long(drive: Path, place: Path, folder: Path, browser: Browser) -> None:
    """Write the pictures of the long drive into a folder: its top, its charts, and on a narrow screen in the dark and in miles."""
    page = report_page(drive, place)
    take(browser, page, folder / "report-answer.png", until="#conditions")
    take(browser, page, folder / "report-charts.png", start="#charts", until="#charts + section")
    narrow = report_page(drive, place, "mi")
    take(browser, narrow, folder / "report-narrow.png", width=NARROW_PX, scheme="dark", start="#answer")


def main() -> None:
    """Take in the sample drive, simulate the long one, and write the pictures into docs/."""
    with tempfile.TemporaryDirectory() as name, chromium() as browser:
        place = Path(name)
        take_long(five_hours(place / "tarnfold-loop"), place, DOCS, browser)
        sample = place / "ostmere-loop"
        ingest_sample(find_sample(SAMPLES), sample, Remembering())
        take(browser, report_page(sample, place), DOCS / "report-sample.png", until="#conditions")


if __name__ == "__main__":
    main()
