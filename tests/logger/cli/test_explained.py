"""How an entry came about, in words: what each quantity's course says, and how numbers are written."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from decimal import Decimal

import pytest
from called_drives import BEGAN, LANGUAGE, CalledDrive, charges, nowhere, trips
from two_ears import drive_heard

from logger.cli.explained import account_text, course_text
from logger.core.explaining import Weighing, explain
from logger.core.reconcile import Worked, work_out
from logger.model import Action, Decision, Drive, Entry
from logger.wiring.explaining import Account


def account(
    drive: CalledDrive, entry_id: str, decisions: Sequence[Decision] = (), **changes: object
) -> Account:
    """Explain an entry of a made-up drive; `decisions` are those about it."""

    def worked(decided: Sequence[Decision]) -> Worked:
        return work_out(
            Drive(BEGAN, ""),
            drive.utterances,
            drive.recognitions,
            language=LANGUAGE,
            place_at=drive.place_at,
            decisions=decided,
        )

    entry: Entry = next(each for each in worked(decisions).entries if each.id == entry_id)
    utterance = entry.utterance_id
    parts = {
        "entry": entry,
        "now": entry,
        "logged": True,
        "at_utc_ns": BEGAN + entry.at_ns,
        "place": drive.place_at(BEGAN + entry.at_ns),
        "clip": "clips/1.flac",
        "explanation": explain(entry_id, worked(()), drive.recognitions[utterance - 1], decisions),
    }
    return Account(**(parts | changes))  # type: ignore[arg-type]


def course_of(drive: CalledDrive, entry_id: str) -> str:
    """The course of a reading's quantity in words."""
    weighing: Weighing | None = account(drive, entry_id).explanation.weighing
    assert weighing is not None
    return course_text(weighing)


def called(*lines: str) -> CalledDrive:
    """Calls every 5 km."""
    drive = CalledDrive()
    for number, line in enumerate(lines):
        drive.call(200.0 * number, f"checkpoint {line}")
    return drive


def doubtful() -> CalledDrive:
    """A charge of 75 % that was heard first as 17 %."""
    drive = CalledDrive()
    charges(drive, [80, 78, 77])
    drive.call(600, "checkpoint seventeen percent", "checkpoint seventy five percent", scores=[-0.5, -0.9])
    charges(drive, [74, 72])
    return drive


def test_a_repaired_reading() -> None:
    """All that there is to say about it, in order."""
    text = account_text(account(doubtful(), "4-1"), "my drive")
    lines = text.splitlines()

    assert lines[0].startswith("Entry 4-1: charge 75 %, accepted, probability ")
    assert lines[0].endswith(", repaired")
    assert "  read off at 0:10:00 (2031-05-03T07:10:00.400Z), 15.010 km along the track" == lines[1]
    assert lines[2].startswith("  because: heard first as 'seventeen percent', but 17 % is 57 % less")
    assert "Heard by typed; its sound is clips/1.flac" in lines
    assert "  before: 77 % (3-1) at 0:06:40, 0:03:20 and 5.00 km earlier" in lines
    assert "  after: 74 % (5-1) at 0:13:20, 0:03:20 and 5.00 km later" in lines
    assert "  17 %, heard" in lines
    assert "  75 %, likeliest" in lines
    assert any(line.startswith("    fail  charge_") for line in lines)
    (heard,) = (line.split() for line in lines if line.startswith("  17 %  "))
    assert ["17", "%", "seventeen", "percent", "heard"] == heard[:5]
    assert "<0.1%" == heard[-1]
    assert "After" not in text


def test_whom_the_drive_taught_to_believe() -> None:
    """Where two listened; where one did, nothing is said of it."""
    text = account_text(account(drive_heard(better=1), "20-1"), "d")

    assert (
        "Two listened. This drive taught that the second's scores count 2.8 times the first's (0.35 until"
        in text
    )
    assert "Two listened" not in account_text(account(doubtful(), "1-1"), "d")


def test_what_the_drive_taught_of_this_voice() -> None:
    """Words of its answers that are said more often than they are heard, the most telling first; nothing of others."""
    drive = drive_heard(better=1)
    told = next(
        line for line in account_text(account(drive, "20-1"), "d").splitlines() if "And of this voice" in line
    )
    words = re.findall(r"'(\w+)' (\d+(?:\.\d+)?)", told)

    assert 0 < len(words) <= 6
    assert {word for word, _ in words} <= {
        word.text for answer in drive.recognitions[19].hypotheses for word in answer.words
    }
    assert [abs(math.log(float(times))) for _, times in words] == sorted(
        (abs(math.log(float(times))) for _, times in words), reverse=True
    )


def test_what_reconciling_would_change() -> None:
    """Told when a person would see it in the log, with a drive's name that can be typed."""
    same = account(doubtful(), "4-1")
    other = account(doubtful(), "3-1").entry

    assert "odovox reconcile" not in account_text(same, "my drive")
    changed = account_text(account(doubtful(), "4-1", now=other), "my drive")
    assert "  After `odovox reconcile 'my drive'` it would be charge 77 %, accepted" in changed
    assert "would not be there any more" in account_text(account(doubtful(), "4-1", now=None), "d")
    assert "not in the log yet" in account_text(account(doubtful(), "4-1", logged=False), "d")


def test_decisions() -> None:
    """Who decided what, when and why; the weighing says that it leaves that out."""
    decision = Decision(7, BEGAN, "Ada", Action.REPLACE, "4-1", "charge", Decimal(76), "%", None, "heard\nit")
    text = account_text(account(doubtful(), "4-1", [decision]), "d")

    assert "Entry 4-1: charge 76 %, corrected, probability 100.0%, typed\n" in text
    assert "  7  2031-05-03T07:00:00.000Z  Ada changed to charge 76 %: heard?it\n" in text
    assert "What the reading may be, had nobody decided about it\n" in text


def test_what_is_not_weighed() -> None:
    """A note, and a reading that was replaced."""
    note = account_text(account(called("sixty percent", "note headwind"), "2-1"), "d")
    drive = called("sixty percent")
    drive.call(60, "correction sixty one percent")

    assert note.startswith("Entry 2-1: note headwind, accepted, heard\n")
    assert "not weighed" not in note
    assert "does not stand" in account_text(account(drive, "1-1"), "d")


@pytest.mark.parametrize("place_at", [None, nowhere], ids=["track", "no track"])
def test_a_distance_goes_on(place_at: Callable[[int], None] | None) -> None:
    """So much a kilometre, with its standard deviation, by GPS where there is a track."""
    drive = CalledDrive()
    trips(drive, [f"{5.2 * number + 1.3:.1f}" for number in range(8)])
    if place_at is not None:
        drive.place_at = place_at
    text = course_of(drive, "4-1")

    assert text.startswith("trip goes 1.0")
    assert f" km a {'GPS km' if place_at is None else 'km'}; it wanders by " in text
    assert " \N{PLUS-MINUS SIGN} 0.0" in text


def test_other_courses() -> None:
    """By hours, in shares, above GPS, and on the clock."""
    assert course_of(called("outside ten degrees celsius"), "1-1").startswith(
        "outside temperature goes on as it was; it wanders by 2.4 °C in an hour, and at one place by "
    )
    assert " % in 10 km" in course_of(called("five point two kilometers per kilowatt hour"), "1-1")
    assert " % above GPS speed." in course_of(called("indicated ninety two kilometers per hour"), "1-1")
    assert "The drive does not tell how far its clock is ahead of UTC." == course_of(
        called("time eight a m"), "1-1"
    )
    drive = CalledDrive()
    drive.call(0, "checkpoint time six a m")
    drive.call(600, "checkpoint time six ten a m")
    assert "The clock is 1 h 00 min behind UTC, as its readings agree." == course_of(drive, "1-1")
