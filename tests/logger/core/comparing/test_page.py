"""What a page about drives shows, in words."""

from __future__ import annotations

from compared import summary

from logger.core.comparing.flags import BOUNDS
from logger.core.comparing.page import page_of
from logger.core.comparing.rows import MANY, Grid
from logger.core.comparing.whole import compared

SPREAD = Grid(("a",), (), (False,))


def test_a_few_drives() -> None:
    """Sentences by drive, no spread; every bound with its source, and that local law comes first."""
    page = page_of(
        compared([("one", summary()), ("two", summary(doubts=1, climb_m=200.0))]),
        "km",
        (),
        spread=SPREAD,
        written_by="us",
    )

    assert "2 drives compared" == page.title
    assert [("two", 2)] == [(name, len(sentences)) for name, sentences in page.flags]
    assert page.spread is None
    assert all(any(bound.source in text for text in page.bounds) for bound in BOUNDS.values())
    assert any("Local law" in text for text in page.cautions)


def test_many_drives() -> None:
    """Counts in place of sentences, and the spread."""
    drives = compared((f"d{k}", summary(doubts=k % 2)) for k in range(MANY + 1))
    page = page_of(drives, "km", (), spread=SPREAD, written_by="us")

    assert (("", ("doubts: entries are in doubt: 6 of 13 drives",)),) == page.flags
    assert SPREAD == page.spread
    assert () == page_of(compared([("a", summary())]), "km", (), spread=None, written_by="us").flags
