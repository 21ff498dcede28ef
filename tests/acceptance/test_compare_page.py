"""The page of `odovox compare` in a real browser: for two drives and for hundreds, on every width, in the dark, without a network."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from axe_playwright_python.sync_playwright import Axe
from compared import summary
from printed import scales

from logger.core.comparing.whole import Beside, compared
from logger.wiring.comparing.writing import as_html

if TYPE_CHECKING:
    from playwright.sync_api import Browser

HOSTILE = '<script>document.title="hit"</script>"&'
DRIVES = {
    "two": compared([("one", summary()), (HOSTILE, summary(380.0, doubts=2, tyres=HOSTILE))]),
    "three hundred": compared((f"drive-{k:03}", summary(300.0 + k % 90, temperature_c=15.0 + k % 9)) for k in range(300)),
}  # fmt: skip


@pytest.mark.parametrize("drives", DRIVES.values(), ids=DRIVES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page(browser: Browser, tmp_path: Path, drives: tuple[Beside, ...], scheme: str) -> None:
    """It asks for nothing, is accessible by axe-core, fits the screen, and what anybody wrote stays text."""
    path = tmp_path / "compared.html"
    path.write_text(as_html(drives, "km"), encoding="utf-8")
    for width in (1200, 390):
        looked_at(browser, path, width, scheme, len(drives))


@pytest.mark.parametrize("drives", DRIVES.values(), ids=DRIVES)
def test_it_prints(browser: Browser, tmp_path: Path, drives: tuple[Beside, ...]) -> None:
    """The table has as many columns as fit on a paper that lies; nothing is shrunk for them."""
    path = tmp_path / "compared.html"
    path.write_text(as_html(drives, "km"), encoding="utf-8")
    page = browser.new_page()
    page.goto(path.as_uri())

    assert {1.0} == scales(page.pdf(format="A4", prefer_css_page_size=True))
    page.close()


def looked_at(browser: Browser, path: Path, width: int, scheme: str, count: int) -> None:
    """Open the page in a window of that width, and look."""
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)  # type: ignore[arg-type]
    page = context.new_page()
    asked: list[str] = []
    complaints: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: complaints.append(message.text))
    page.goto(path.as_uri())

    assert ([path.as_uri()], []) == (asked, complaints)
    assert f"{count} drives compared" == page.title()
    assert width >= page.evaluate("document.documentElement.scrollWidth")
    assert count <= page.locator("#drives tbody tr").count()
    assert 2 == page.locator("#charts svg").count()
    if count == 2:
        assert ["odovox review"] == page.locator("#flags code").all_inner_texts()
    found = Axe().run(page)
    assert 0 == found.violations_count, found.generate_report()
    context.close()
