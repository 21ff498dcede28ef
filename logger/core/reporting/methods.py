"""How the figures of a report come about, in short, and where docs/method.md has the formulas. Data."""

from __future__ import annotations

from logger.core.reporting.report import MethodText

METHODS = (
    MethodText(
        "Each call was heard by the recogniser as a list of answers; all their meanings compete over the whole drive, and a "
        "reading is accepted only where one of them clearly wins.",
        "2. What the drive says",
    ),
    MethodText(
        "Only readings that were accepted, or that a person decided, count for any figure; doubts count for none.",
        "4. What becomes of a reading",
    ),
)
"""The sentences, in the order told; a test holds the headings against docs/method.md."""
