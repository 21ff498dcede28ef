"""`odovox amend`: one decision about one entry, told with what it did."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from logger.store.lock import RecordingLock


@pytest.fixture
def drive(doubtful: Path, tmp_path: Path) -> Path:
    """The same, to be changed."""
    return Path(shutil.copytree(doubtful, tmp_path / "drive"))


def entries(invoke: Callable[..., Result], drive: Path) -> dict[str, dict[str, object]]:
    """The log, with everything, by entry."""
    lines = invoke("log", drive, "--all", "--format", "jsonl").stdout.splitlines()
    return {row["entry_id"]: row for row in map(json.loads, lines)}


def test_a_value(invoke: Callable[..., Result], drive: Path) -> None:
    """It is in the log, with who, what it was and why; the doubt that hung on it is gone."""
    done = invoke("amend", drive, "5-1", "77", "--why", "heard it again", "--who", "Ada")

    assert 1 == done.exit_code
    assert [
        "odovox: 5-1: 0:06:10 charge 77 %, corrected",
        "odovox: no longer in doubt by this: 7-1: 0:09:10 range left 312 km, accepted",
        "odovox: 1 left in doubt",
    ] == done.stderr.splitlines()
    row = entries(invoke, drive)["5-1"]
    assert (77, "corrected", "nineteen percent") == (row["value"], row["status"], row["heard"])
    (decision,) = row["decisions"]  # type: ignore[misc]
    assert ("Ada", "replace", "77", "heard it again", 19, "flagged") == (
        decision["who"],
        decision["action"],
        decision["words"],
        decision["why"],
        decision["before"]["value"],
        decision["before"]["status"],
    )


def test_accept_reject_and_undo(invoke: Callable[..., Result], drive: Path) -> None:
    """Until nothing is in doubt, which ends with 0; and back."""
    assert 1 == invoke("amend", drive, "6-1", "--reject").exit_code
    assert 1 == invoke("amend", drive, "7-1", "--accept").exit_code
    done = invoke("amend", drive, "5-1", "ninety percent")
    assert (0, "odovox: nothing is in doubt any more") == (done.exit_code, done.stderr.splitlines()[-1])
    undone = invoke("amend", drive, "5-1", "--undo", "--why", "slip")
    assert (1, "flagged") == (undone.exit_code, entries(invoke, drive)["5-1"]["status"])


def test_missed_and_noted(invoke: Callable[..., Result], drive: Path) -> None:
    """At a time of the drive, and a note's own text."""
    assert 1 == invoke("amend", drive, "@0:08:20.5", "75 %").exit_code
    assert 1 == invoke("amend", drive, "4-1", "--note", "detour by the mill").exit_code
    rows = entries(invoke, drive)

    assert (75, 500.5, "typed") == tuple(rows["added-1"][name] for name in ("value", "elapsed_s", "origin"))
    assert "detour by the mill" == rows["4-1"]["note"]


def test_two_meanings(invoke: Callable[..., Result], drive: Path) -> None:
    """They are listed, nothing is changed, and one is chosen by its number."""
    asked = invoke("amend", drive, "@0:08:20", "7:40")
    meanings = dict(line.split(" ", 1) for line in asked.stdout.splitlines())

    assert 1 == asked.exit_code
    assert {"clock 07:40", "clock 19:40"} == set(meanings.values())
    assert "added-1" not in entries(invoke, drive)
    number = next(number for number, meaning in meanings.items() if meaning == "clock 19:40")
    invoke("amend", drive, "@0:08:20", "7:40", "--choice", number)
    assert 1180 == entries(invoke, drive)["added-1"]["value"]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("5-1",), "give a VALUE"),
        (("5-1", "77", "--accept"), "takes no VALUE"),
        (("@0:01:00", "--reject"), "needs the id of an entry"),
        (("@soon", "77 %"), "written like 1:02:05"),
        (("5-1", "hello"), "'hello' is nothing that can be called out; a charge is a number up to 100"),
        (("99-9", "77"), "there is no entry '99-9'"),
        (("6-1", "--accept"), "nothing to accept"),
        (("1-1", "--undo"), "nobody has decided"),
    ],
)
def test_what_cannot_be_done(
    invoke: Callable[..., Result], drive: Path, arguments: tuple[str, ...], told: str
) -> None:
    """One line, and nothing is stored."""
    refused = invoke("amend", drive, *arguments)

    assert (2, 1) == (refused.exit_code, len(refused.stderr.splitlines()))
    assert told in refused.stderr
    assert {"[]"} == {json.dumps(row["decisions"]) for row in entries(invoke, drive).values()}


def test_while_it_is_recorded(invoke: Callable[..., Result], drive: Path) -> None:
    """It is refused in one line."""
    with RecordingLock(drive):
        refused = invoke("amend", drive, "5-1", "77")

    assert 2 == refused.exit_code
    assert "being recorded just now" in refused.stderr
