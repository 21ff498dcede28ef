"""A review in words."""

from __future__ import annotations

import pytest

from logger.cli.reviewed import LETTERS, share_text, what_to_do
from logger.core.deciding import Ranked
from logger.model import Entry, Origin, Status


@pytest.mark.parametrize(
    ("share", "text"),
    [(0.0, "0 %"), (0.001, "<1 %"), (0.774, "77 %"), (0.996, ">99 %"), (1.0, "100 %")],
)
def test_shares(share: float, text: str) -> None:
    """What is not quite nothing or all does not look like it."""
    assert text == share_text(share)


def test_what_may_be_answered() -> None:
    """As many letters as there is something beside; a note in doubt is accepted in words."""
    entry = Entry("1-1", 1, 0, "note", None, "", Status.FLAGGED, 0.5, Origin.HEARD, "", "rain", "")
    one = Ranked("charge", 1, "%", "", 0.5, 0)  # type: ignore[arg-type]

    assert what_to_do(entry, (one,)).startswith("a takes it, or type")
    assert what_to_do(entry, (one,) * 3).startswith("a-c take one")
    assert what_to_do(entry, (one,) * 30).startswith(f"a-{LETTERS[-1]} take one")
    assert what_to_do(entry, ()).startswith("ok accepts it")
