"""For tests of wiring: a recogniser that counts, a listener that remembers, and a drive made without a real recogniser."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from grammar import Language
from logger.model import Hypothesis, Issue, Samples
from logger.recognisers.typed import TypedRecogniser
from logger.wiring.choosing import Chosen, alone
from logger.wiring.ingest import Progress

LINES = (
    "checkpoint sixty four percent forty two point one kilometers",
    "checkpoint sixty four percent forty two point three kilometers",
    "",
    "checkpoint sixty three percent forty two point eight kilometers",
    "checkpoint sixty two percent forty three point oh kilometers",
    "checkpoint sixty two percent forty three point two kilometers",
    "checkpoint sixty one percent forty three point four kilometers",
    "note headwind",
)
"""What a recogniser may say to the eight stretches of a short drive; nothing to the third."""


class Counting:
    """A recogniser that is told what was said, counts how often it is asked, and may be made to fail."""

    def __init__(
        self,
        lines: Iterable[str | tuple[str, ...]] = LINES,
        *,
        name: str = "typed",
        before: Callable[[int], None] | None = None,
    ) -> None:
        self._typed = TypedRecogniser(line or () for line in lines)
        self._before = before
        self.name = name
        self.asked = 0

    def recognise(self, samples: Samples) -> tuple[Hypothesis, ...]:
        """Count, let `before` do what it likes, and answer."""
        if self._before is not None:
            self._before(self.asked)
        self.asked += 1
        return self._typed.recognise(samples)

    def choose(self, _: Language) -> Chosen:
        """Choose this recogniser."""
        return alone(self, "for a test")


class Remembering:
    """A listener that keeps all it is told."""

    def __init__(self) -> None:
        self.remarks: list[str] = []
        self.issues: list[Issue] = []
        self.steps: list[Progress] = []

    def remark(self, text: str) -> None:
        """Keep a remark."""
        self.remarks.append(text)

    def odd(self, issue: Issue) -> None:
        """Keep an issue."""
        self.issues.append(issue)

    def progress(self, progress: Progress) -> None:
        """Keep a step."""
        self.steps.append(progress)
