"""Debian's Chromium, driven by Playwright, and the review page in it as a person at the keyboard sees it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Literal

from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

Scheme = Literal["light", "dark"]


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start one; it is Debian's package, nothing is downloaded."""
    program = shutil.which("chromium")
    assert program is not None, "install Debian's package chromium, as the Makefile does"
    with sync_playwright() as playwright:
        # Its sandbox needs what containers do not give to root. It opens nothing but our own page.
        browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        try:
            yield browser
        finally:
            browser.close()


class Seen:
    """The review page in a window of its own; `keys` counts every key that was pressed.

    Args:
        browser: where the window is opened.
        address: the page's.
        width, height: of the window, in CSS pixels.
        scheme: what the person's system prefers.
        quiet: whether it asks for reduced motion.
    """

    def __init__(
        self,
        browser: Browser,
        address: str,
        *,
        width: int = 1600,
        height: int = 900,
        scheme: Scheme = "light",
        quiet: bool = False,
    ) -> None:
        self.context: BrowserContext = browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme=scheme,
            reduced_motion="reduce" if quiet else "no-preference",
        )
        self.page: Page = self.context.new_page()
        self.asked: list[str] = []
        self.came: list[tuple[str, int]] = []
        self.troubles: list[str] = []
        self.keys = 0
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("response", lambda response: self.came.append((response.url, response.status)))
        self.page.on("pageerror", lambda error: self.troubles.append(str(error)))
        self.page.on("console", self._noted)
        self.page.goto(address)
        self.page.wait_for_selector("body[data-ready]")
        self.page.wait_for_selector("#entry h2")

    def close(self) -> None:
        """Close the window."""
        self.context.close()

    def press(self, *keys: str) -> None:
        """Press keys one after the other, by their names."""
        for key in keys:
            self.keys += 1
            self.page.keyboard.press(key)

    def type(self, text: str) -> None:
        """Press the key of each letter."""
        self.press(*("Space" if letter == " " else letter for letter in text))

    def answered(self, *keys: str) -> str:
        """Press keys that give an answer, wait until it is settled, and return what a screen reader is told."""
        before = self.said
        self.page.evaluate("document.getElementById('said').textContent = ''")
        assert before is not None
        self.press(*keys)
        self.until("document.getElementById('said').textContent !== ''")
        return self.said

    def until(self, condition: str) -> None:
        """Wait until a script's condition holds; Playwright's own waiting would evaluate text, which the page's policy forbids."""
        for _ in range(400):
            if self.page.evaluate(condition):
                return
            self.page.wait_for_timeout(25)
        raise AssertionError(f"never came true: {condition}")

    @property
    def said(self) -> str:
        """What the live region says."""
        return self.text("#said")

    @property
    def title(self) -> str:
        """The heading of the entry that is shown, with its status."""
        return self.text("#entry h2")

    @property
    def left(self) -> str:
        """How many doubts are left, as it stands above."""
        return self.text("#left")

    def text(self, selector: str) -> str:
        """The text of an element as it is there, shown or not, blanks made single."""
        return " ".join((self.page.locator(selector).first.text_content() or "").split())

    def texts(self, selector: str) -> list[str]:
        """The texts of all elements that match."""
        return [" ".join(text.split()) for text in self.page.locator(selector).all_text_contents()]

    def run(self, script: str) -> Any:
        """Return what a script comes to."""
        return self.page.evaluate(script)

    def serious_findings(self) -> list[tuple[str, str, list[str]]]:
        """Return what axe-core finds that is serious or critical: its rule, its words, and the elements."""
        from axe_playwright_python.sync_playwright import Axe

        found = Axe().run(self.page).response["violations"]
        return [
            (each["id"], each["help"], [node["html"][:200] for node in each["nodes"]])
            for each in found
            if each["impact"] in {"serious", "critical"}
        ]

    def _noted(self, message: Any) -> None:
        # A refused answer is told to the person; the browser notes it as well.
        if message.type == "error" and "the server responded with a status of 4" not in message.text:
            self.troubles.append(message.text)
