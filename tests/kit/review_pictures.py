"""Pictures of the review page for docs/review.md: of the sample drive, and of a made-up one whose doubts hang together.

`make review-pictures` writes them into docs/; the tests make them too, into a folder of their own.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from browser import Seen, chromium
from heard import Remembering
from review_server import ReviewServer
from reviewed_drives import doubtful_drive, store_called, straight_fixes
from sample_drive import SAMPLES

from logger.wiring.demo import find_sample, ingest_sample

if TYPE_CHECKING:
    from playwright.sync_api import Browser

DOCS = Path(__file__).resolve().parents[2] / "docs"
NAMES = ("review-doubt.png", "review-settled.png", "review-narrow.png")


def take_pictures(sample: Path, folder: Path, browser: Browser) -> None:
    """Write all pictures into a folder; the sample drive is only looked at."""
    with tempfile.TemporaryDirectory() as place:
        nowhere = Path(place)
        with ReviewServer(sample, nowhere) as server:
            wide = Seen(browser, server.address, width=1440, height=1000, quiet=True)
            wide.press("ArrowRight")
            wide.until("document.querySelector('#entry h2').textContent.startsWith('Trip')")
            _take(wide, folder / NAMES[0])
            narrow = Seen(browser, server.address, width=390, height=1000, scheme="dark", quiet=True)
            narrow.press("ArrowLeft")
            narrow.until("document.querySelector('#entry h2').textContent.startsWith('Trip')")
            _take(narrow, folder / NAMES[2])
        drive = store_called(nowhere / "made-up", doubtful_drive(), fixes=straight_fixes(600))
        with ReviewServer(drive, nowhere) as server:
            dark = Seen(browser, server.address, width=1440, height=760, scheme="dark", quiet=True)
            dark.answered("7", "7", "Enter")
            _take(dark, folder / NAMES[1])


def _take(seen: Seen, path: Path) -> None:
    seen.until("document.querySelector('.wave svg') !== null")
    seen.run("document.activeElement.blur()")
    seen.run("window.scrollTo(0, 0)")
    seen.page.screenshot(path=path)
    seen.close()


def main() -> None:
    """Take in the sample drive and write the pictures into docs/."""
    with tempfile.TemporaryDirectory() as place, chromium() as browser:
        sample = Path(place) / "sample"
        ingest_sample(find_sample(SAMPLES), sample, Remembering())
        take_pictures(sample, DOCS, browser)


if __name__ == "__main__":
    main()
