"""How an entry came about, as JSON: strict, with the digits that were said, and every member that formats.md names."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

from click.testing import Result

from logger.model import Action, Decision, Drive, HeardWord, Hypothesis, Recognition
from logger.store import DriveStore
from logger.wiring.reconciling import settle

FORMATS = Path(__file__).parents[3] / "docs" / "formats.md"


def drive(folder: Path, *lines: str) -> Path:
    """Make a drive of calls a minute apart."""
    with DriveStore.create(folder, Drive(0, "")) as store:
        source = store.add_source("a.wav", "aa", 0)
        for number, line in enumerate(lines):
            words = tuple(HeardWord(word) for word in line.split())
            said = store.add_utterance(source.id, number * 16_000, 16_000, number * 60_000_000_000, "")
            store.add_recognition(Recognition(said.id, "typed", (Hypothesis(0, words, -0.5),)))
        settle(store)
    return folder


def explained(invoke: Callable[..., Result], folder: Path, entry_id: str) -> dict[str, Any]:
    """Return the object, with numbers as they are written."""

    def refuse(constant: str) -> None:
        raise AssertionError(constant)

    line = invoke("reconcile", folder, "--explain", entry_id, "--json").stdout
    found: dict[str, Any] = json.loads(line, parse_float=Decimal, parse_constant=refuse)
    return found


def members(value: object) -> Iterator[str]:
    """Yield the names of all members, however deep."""
    if isinstance(value, dict):
        for key, each in value.items():
            yield key
            yield from members(each)
    elif isinstance(value, list):
        for each in value:
            yield from members(each)


def test_a_reading(invoke: Callable[..., Result], tmp_path: Path) -> None:
    """Values keep their digits; what is not there is null."""
    folder = drive(
        tmp_path / "d", *(f"checkpoint forty {number} point oh kilometers" for number in ("one", "two"))
    )
    found = explained(invoke, folder, "1-1")

    assert ("41.0", "km", "accepted", None) == (
        str(found["entry"]["value"]),
        found["entry"]["unit"],
        found["entry"]["status"],
        found["entry"]["gps_distance_km"],
    )
    assert Decimal("-0.5") == found["answers"][0]["score"]
    (likeliest, *_) = found["weighing"]["possibilities"]
    assert "41.0" == str(likeliest["value"])
    assert likeliest["from_before"] is None
    assert likeliest["to_after"]["log_usual"] > 0
    assert found["weighing"]["before"] is None
    assert "2-1" == found["weighing"]["after"]["entry_id"]
    assert [] == found["decisions"]


def test_nothing_used_at_all_is_no_number(invoke: Callable[..., Result], tmp_path: Path) -> None:
    """0 kWh/100km has no km/kWh: its odds are null, since JSON has no infinity."""
    zero = "checkpoint zero point oh kilowatt hours per hundred kilometers"
    found = explained(
        invoke,
        drive(tmp_path / "d", zero.replace("zero", "twelve"), zero, zero.replace("zero", "twelve")),
        "2-1",
    )
    steps = {str(each["value"]): each["from_before"] for each in found["weighing"]["possibilities"]}

    assert {"log_usual": None, "log_surprise": None} == steps["0.0"]


def test_every_member_is_documented(invoke: Callable[..., Result], tmp_path: Path) -> None:
    """docs/formats.md names each of them in its section."""
    folder = drive(tmp_path / "d", *("checkpoint sixty percent",) * 3)
    with DriveStore.open(folder) as store:
        store.add_decision(
            Decision(0, 0, "Ada", Action.REPLACE, "2-1", "charge", Decimal("59.5"), "%", None, "")
        )
    found = explained(invoke, folder, "2-1")
    section = FORMATS.read_text("utf-8").split("\n## An explained entry\n")[1].split("\n## ")[0]

    assert "59.5" == str(found["decisions"][0]["value"])
    assert set() == set(members(found)) - set(re.findall(r"`(\w+)`", section))
