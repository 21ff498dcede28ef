"""A stored drive's report in every form, whatever is missing in the drive. Outside: jsonschema, html.parser."""

from __future__ import annotations

import json
import shutil
from html.parser import HTMLParser
from pathlib import Path

import pytest
from called_drives import BEGAN, CalledDrive, charges, nowhere
from jsonschema import Draft202012Validator, FormatChecker
from reviewed_drives import METRIC, doubtful_drive, store_called, straight_fixes

from logger.errors import StoreError
from logger.model import Drive
from logger.store import DriveStore
from logger.store.lock import RecordingLock
from logger.wiring.reported import DriveReport

SCHEMA = json.loads(
    (Path(__file__).resolve().parents[3] / "logger" / "cli" / "report.schema.json").read_text(
        encoding="utf-8"
    )
)
TOLD = (
    METRIC
    + '[test]\ncar = "Pebble"\nusable_kwh = 16.4\ntarget_gps_speed_kmh = 90\nwind_mps = 3.5\nwind_from_deg = 20\n'
)


class _Text(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__()
        self._texts: list[str] = []
        self.feed(page)
        self.text = " ".join(" ".join(self._texts).split())

    def handle_data(self, data: str) -> None:
        """Some text."""
        self._texts.append(data)


def forms(folder: Path) -> tuple[str, str, dict[str, object]]:
    """The report as the text of its page, as Markdown, and as JSON that is valid."""
    made = DriveReport(folder)
    told = json.loads(made.json())
    Draft202012Validator(SCHEMA, format_checker=FormatChecker()).validate(told)
    return _Text(made.html()).text, made.markdown(), told


def ended(folder: Path) -> Path:
    """A drive whose sound was taken in to its end."""
    with DriveStore.open(folder) as store:
        for source in store.sources():
            store.finish_source(source.id, 16_000 * 3600)
    return folder


def settled_drive(*, gps: bool = True, calls: int = 20) -> CalledDrive:
    """Charge from 90 % down, a point for each 5 km, nothing in doubt."""
    called = CalledDrive() if gps else CalledDrive(place_at=nowhere)
    charges(called, list(range(90, 90 - calls, -1)))
    return called


def test_a_drive_with_doubts(doubtful: Path) -> None:
    """What is in doubt stands on top; the exit code follows it."""
    page, text, told = forms(doubtful)

    assert "Not settled yet" in page
    assert "charge 19 %" in text
    assert ("doubtful_entries" in told, told["settled"]) == (True, False)
    assert DriveReport(doubtful).needs_human


def test_a_whole_drive_without_doubts(tmp_path: Path) -> None:
    """Nothing is in doubt, the conditions are told, and the charts that can be are there."""
    folder = ended(
        store_called(tmp_path / "loop", settled_drive(), fixes=straight_fixes(4000), clips=False, sheet=TOLD)
    )
    page, text, told = forms(folder)

    assert "Nothing is in doubt" in page
    assert "# loop: what the drive came to" in text
    assert {"car": "Pebble", "usable_kwh": 16.4}.items() <= dict(told["sheet"]).items()  # type: ignore[call-overload]
    assert told["settled"]
    assert not DriveReport(folder).needs_human
    keys = [each.key for each in DriveReport(folder).chart_files("svg")]
    assert {"charge", "projected", "way"} <= set(keys)


def test_without_gps(tmp_path: Path) -> None:
    """No track: the map and the speeds say so."""
    folder = store_called(tmp_path / "dark", settled_drive(gps=False), clips=False, sheet=TOLD)
    page, text, told = forms(ended(folder))

    assert "Track by GPS none" in page
    assert "The way driven No way by GPS is known." in page
    assert "No chart: No speed by GPS is known." in text
    assert not dict(told["drive"])["has_track"]  # type: ignore[call-overload]


def test_without_anything_on_the_sheet(tmp_path: Path) -> None:
    """No usable energy, no wind: what follows from them says so instead."""
    folder = ended(store_called(tmp_path / "plain", settled_drive(), fixes=straight_fixes(4000), clips=False))
    page, _, told = forms(folder)

    assert "The sheet tells nothing of the car" in page
    assert "usable_kwh" in page
    assert {} == told["sheet"]


def test_one_checkpoint(tmp_path: Path) -> None:
    """A single call gives a report."""
    folder = ended(
        store_called(tmp_path / "one", settled_drive(calls=1), fixes=straight_fixes(300), clips=False)
    )
    page, _, told = forms(folder)

    assert "Projected range over distance No range could be projected" in page
    assert told["settled"]


def test_nothing_called_out(tmp_path: Path) -> None:
    """Not even a sound: a report that says so, in all forms."""
    with DriveStore.create(tmp_path / "silent", Drive(BEGAN, METRIC)):
        pass
    page, text, told = forms(tmp_path / "silent")

    assert "Nothing was called out." in page
    assert "No sound was taken in yet" in text
    assert 0 == dict(told["drive"])["entries"]  # type: ignore[call-overload]


def test_a_drive_that_never_ended(tmp_path: Path) -> None:
    """Killed while it was recorded: said on top; being recorded: that is said instead."""
    folder = store_called(tmp_path / "cut", settled_drive(), fixes=straight_fixes(4000), clips=False)
    page, text, told = forms(folder)

    assert "Not complete This drive never ended" in page
    assert "## Not complete" in text
    assert [DriveReport(folder).report.state[0]] == dict(told["drive"])["state"]  # type: ignore[call-overload]
    with RecordingLock(folder):
        assert "is being recorded just now" in _Text(DriveReport(folder).html()).text


def test_units(doubtful: Path) -> None:
    """Kilometres as the sheet says, miles when asked for; the default sheet has miles and degrees Fahrenheit."""
    assert "GPS distance (km)" in DriveReport(doubtful).markdown()
    assert "GPS distance (mi)" in DriveReport(doubtful, "mi").markdown()
    assert {"distances": "mi", "temperatures": "degC"} == json.loads(DriveReport(doubtful, "mi").json())[
        "shown_in"
    ]


def test_the_default_sheets_units(tmp_path: Path) -> None:
    """Miles and Fahrenheit."""
    folder = store_called(tmp_path / "us", doubtful_drive(), clips=False, sheet="")
    assert {"distances": "mi", "temperatures": "degF"} == json.loads(DriveReport(folder).json())["shown_in"]


def test_the_drive_is_only_read(doubtful: Path, tmp_path: Path) -> None:
    """No byte of it changes, and the same drive gives the same report."""
    folder = Path(shutil.copytree(doubtful, tmp_path / "drive"))
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    first = DriveReport(folder).html()

    assert first == DriveReport(folder).html()
    assert before == {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_no_drive(tmp_path: Path) -> None:
    """Is an error of the store."""
    with pytest.raises(StoreError):
        DriveReport(tmp_path)
