"""Compared drives in the forms that the command writes."""

from __future__ import annotations

import io
import json

from compared import summary

from logger.core.comparing.rows import MANY
from logger.core.comparing.whole import compared
from logger.wiring.comparing.writing import as_json, as_text, write_table

FEW = compared([("one", summary()), ("two", summary(380.0, doubts=1))])
MANY_DRIVES = compared((f"drive-{k:02}", summary(400.0 + k)) for k in range(MANY + 1))


def test_a_few_drives_have_their_flags_below() -> None:
    """A line for each drive, then a sentence for each flag, and no quantiles of two drives."""
    text = as_text(FEW, "km")

    assert "380.0 (375.0 to 386.0)" in text
    assert "two: 1 entry is in doubt" in text
    assert "of all drives" not in text


def test_many_drives_have_their_spread_below() -> None:
    """Where nothing differs there is no line about it; the median of 400 to 412 is 406."""
    text = as_text(MANY_DRIVES, "km")
    (spread,) = [line for line in text.splitlines() if line.startswith("range_projected_km")]

    assert ["range_projected_km", "13", "400.6", "403.0", "406.0", "409.0", "411.4"] == spread.split()
    assert "What makes" not in text


def test_forms_for_programs() -> None:
    """JSON reads as JSON, CSV has a row a drive."""
    assert ["one", "two"] == [each["drive"] for each in json.loads(as_json(FEW, "km"))["drives"]]
    stream = io.BytesIO()
    write_table(FEW, "mi", "csv", stream)
    assert 3 == len(stream.getvalue().decode().splitlines())
