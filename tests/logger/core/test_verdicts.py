"""What is read back of a call."""

from __future__ import annotations

from decimal import Decimal

import pytest

from logger.core.verdicts import Verdict, spoken, verdict_on
from logger.model import Entry, Origin, Status


def entry(
    quantity: str, value: str = "", unit: str = "", status: Status = Status.ACCEPTED, note: str = ""
) -> Entry:
    """An entry as a call gives it."""
    number = Decimal(value) if value else None
    return Entry("1-1", 1, 0, quantity, number, unit, status, 0.9, Origin.HEARD, "heard", note, "")


CHARGE = entry("charge", "63", "%")
DOUBT = entry("trip", "97.2", "mi", Status.FLAGGED)
UNHEARD = entry("unheard", status=Status.FLAGGED)
GONE = entry("charge", "64", "%", Status.REJECTED)


@pytest.mark.parametrize(
    ("entries", "verdict", "words"),
    [
        ([CHARGE], Verdict.TAKEN, "63 percent"),
        ([CHARGE, DOUBT], Verdict.DOUBTFUL, "63 percent, perhaps 97.2 miles"),
        ([UNHEARD], Verdict.NOT_UNDERSTOOD, "not understood"),
        ([CHARGE, UNHEARD], Verdict.DOUBTFUL, "63 percent, not understood"),
        ([GONE, CHARGE], Verdict.TAKEN, "63 percent"),
        ([entry("outside_temperature", "-4.0", "degC")], Verdict.TAKEN, "minus 4.0 degrees celsius"),
        ([entry("clock", "460", "min")], Verdict.TAKEN, "7 40"),
        ([entry("efficiency", "3.40", "mi/kWh")], Verdict.TAKEN, "3.40 miles per kilowatt hour"),
        ([entry("note", note="headwind")], Verdict.TAKEN, "headwind"),
        ([entry("note", note="asked: say again")], Verdict.TAKEN, ""),
        ([entry("note", note="strike that", status=Status.FLAGGED)], Verdict.DOUBTFUL, "strike that"),
    ],
)
def test_read_back(entries: list[Entry], verdict: Verdict, words: str) -> None:
    """The worst of a call's entries decides the tone; the voice says value and unit, and what it is not sure of."""
    assert verdict == verdict_on(entries)
    assert words == spoken(entries)
