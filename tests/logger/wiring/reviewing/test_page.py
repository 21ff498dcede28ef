"""What the page is sent, and what it may send: every answer there is, hostile ones too."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from reviewed_drives import doubtful_drive, store_called, tone

from logger.core.deciding import Accept, AddMissed, Answer, EditNote, Reject, Take, Type, Undo
from logger.errors import AnswerError
from logger.model import Decision
from logger.sound.clips import write_clip
from logger.store import DriveStore
from logger.store.lock import RecordingLock
from logger.web.serving import Asked, Reply
from logger.wiring.reviewing.drive import ReviewedDrive
from logger.wiring.reviewing.page import FILES, Page, read_answer

HOSTILE = "<img src=x onerror=alert(1)>\u202e\u0000</script>"


@pytest.fixture(scope="module")
def looked_at(doubtful: Path) -> Page:
    """Its page, for all that change nothing."""
    return Page(ReviewedDrive(doubtful, "Ada"))


@pytest.fixture
def folder(doubtful: Path, tmp_path: Path) -> Path:
    """The same, to be changed."""
    return Path(shutil.copytree(doubtful, tmp_path / "drive"))


@pytest.fixture
def page(folder: Path) -> Page:
    """Its page."""
    return Page(ReviewedDrive(folder, "Ada"))


def got(page: Page, path: str) -> Any:
    """Ask for something, and read it as JSON."""
    return json.loads(page.reply(Asked(path)).body)


def sent(page: Page, **body: Any) -> tuple[int, Any]:
    """Send an answer about the drive as it is."""
    reply = page.reply(Asked("answer", {"revision": got(page, "state")["revision"], **body}))
    return reply.status, json.loads(reply.body)


def decisions(folder: Path) -> tuple[Decision, ...]:
    """What is stored."""
    with DriveStore.open(folder, readonly=True) as store:
        return store.decisions()


def test_every_file_is_there(looked_at: Page) -> None:
    """Each that is named, and no other of its folder is left out."""
    replies = [looked_at.reply(Asked(path)) for path in FILES]
    assert {200} == {reply.status for reply in replies}
    assert all(reply.body for reply in replies)
    place = Path(__file__).parents[4] / "logger" / "web" / "review"
    assert {path.name for path in place.iterdir()} == {name for name, _ in FILES.values()}


def test_the_state(looked_at: Page) -> None:
    """Every entry once, with what a chart needs; 90 km/h for 10 s is 0.25 km."""
    state = got(looked_at, "state")
    first = state["entries"][0]

    assert ("km", "Ada", None, "drive") == (state["along"], state["who"], state["blocked"], state["name"])
    assert 10 == len(state["entries"]) == len({each["id"] for each in state["entries"]})
    assert ("charge 80 %", 80.0, "accepted", False) == (
        first["text"],
        first["y"],
        first["status"],
        first["decided"],
    )
    assert 0.24 < first["x"] < 0.28
    assert "km" == state["units"]["trip"]


def test_the_track(looked_at: Page) -> None:
    """Speed and altitude, thinned, within what the fixes say."""
    track = got(looked_at, "track")

    assert ("km", "km/h") == (track["along"], track["speed_unit"])
    assert 14.9 < track["length"] < 15.0
    assert {90.0} == {each[1] for each in track["speed"]}
    assert all(80.0 <= each[1] <= 160.0 for each in track["altitude"])
    assert 2 <= len(track["altitude"]) <= 600


def test_a_drive_without_a_track(tmp_path: Path) -> None:
    """It goes along the hours since the start."""
    page = Page(ReviewedDrive(store_called(tmp_path / "drive", doubtful_drive()), "Ada"))

    state, track = got(page, "state"), got(page, "track")
    assert ("h", []) == (state["along"], track["speed"])
    assert 0.002 < state["entries"][0]["x"] < 0.004
    assert got(page, "entry/1-1")["way"] is None


def test_an_entry(looked_at: Page) -> None:
    """All there is to say about it, and its sound with its peaks."""
    entry = got(looked_at, "entry/5-1")

    assert ["charge 90 %", "charge 19 %"] == [each["text"] for each in entry["ranked"][:2]]
    assert {"charge 75 %", "charge 76 %", "charge 77 %"} == {each["text"] for each in entry["ranked"][2:]}
    assert entry["reason"] == "19 % is 59 % less than the 78 % before, too much for 4.5 km; 76 % would fit"
    assert ["3-1"] == [each["id"] for each in entry["near"]]
    assert 5 == entry["sound"]
    peaks = got(looked_at, "peaks/5")
    assert (6.0, 370.0, 240) == (peaks["seconds"], peaks["start_s"], len(peaks["peaks"]))
    assert b"RIFF" == looked_at.reply(Asked("sound/5.wav")).body[:4]
    assert b"RIFF" == looked_at.reply(Asked("moment/371000.wav")).body[:4]
    assert 404 == looked_at.reply(Asked("moment/999999999.wav")).status


def test_sound_behind_a_link_is_not_sent(page: Page, folder: Path, tmp_path: Path) -> None:
    """A drive from somebody else may hold a link to any sound on this disk."""
    write_clip(tmp_path / "private.flac", tone(1.0))
    (folder / "clips" / "005.flac").unlink()
    (folder / "clips" / "005.flac").symlink_to(tmp_path / "private.flac")
    reply: Reply = page.reply(Asked("sound/5.wav"))

    assert 404 == reply.status
    assert "is a link" in json.loads(reply.body)["error"]


def test_answers(page: Page, folder: Path) -> None:
    """Each kind is stored, and its effect is sent with the new state."""
    status, found = sent(page, kind="type", entry="5-1", words="77", why="again")
    assert (200, ["5-1"], ["7-1"]) == (status, found["about"], [each["id"] for each in found["vanished"]])
    assert 1 == sum(each["status"] == "flagged" for each in found["state"]["entries"])
    for body in (
        {"kind": "note", "entry": "4-1", "words": "detour"},
        {"kind": "accept", "entry": "7-1"},
        {"kind": "reject", "entry": "6-1"},
        {"kind": "add", "at_s": 500.5, "words": "note rain"},
        {"kind": "undo", "entry": "added-5"},
    ):
        assert 200 == sent(page, **body)[0], body
    assert ["replace", "replace", "accept", "reject", "add", "withdraw"] == [
        each.action.value for each in decisions(folder)
    ]
    assert 500_500_000_000 == decisions(folder)[4].at_ns
    assert "again" == decisions(folder)[0].why
    assert ["5-1", "4-1", "7-1", "6-1"] == [each.entry_id for each in decisions(folder)[:4]]
    assert {True} == {
        each["decided"]
        for each in got(page, "state")["entries"]
        if each["id"] in {"5-1", "4-1", "7-1", "6-1"}
    }
    assert 200 == sent(page, kind="undo", entry="5-1")[0]
    assert 200 == sent(page, kind="take", entry="5-1", number=0)[0]


def test_choices(page: Page) -> None:
    """They are sent, and one of them is chosen by its number."""
    status, found = sent(page, kind="add", at_s=1, words="7:40")
    assert 200 == status
    assert {"clock 07:40", "clock 19:40"} == set(found["choices"])
    number = found["choices"].index("clock 19:40")
    assert 200 == sent(page, kind="add", at_s=1, words="7:40", choice=number)[0]


def test_what_cannot_be_taken(page: Page, folder: Path) -> None:
    """In words for the person; nothing is stored."""
    assert (422, "'hello' is nothing") == (
        (refused := sent(page, kind="type", entry="5-1", words="hello"))[0],
        refused[1]["error"][:18],
    )
    assert 422 == sent(page, kind="accept", entry="99-9")[0]
    stale = sent(page, kind="accept", entry="5-1", revision="0-0")
    assert (409, True) == (stale[0], stale[1]["meanwhile"])
    with RecordingLock(folder):
        status, found = sent(page, kind="accept", entry="5-1")
        assert (422, True) == (status, "being recorded" in found["error"])
        assert "being recorded" in got(page, "state")["blocked"]
    assert () == decisions(folder)


def test_hostile_text_stays_text(page: Page) -> None:
    """In a note, a reason and typed words: it comes back as it was, as JSON text, for the page to show as text."""
    assert 200 == sent(page, kind="note", entry="4-1", words=HOSTILE, why=HOSTILE)[0]
    entry = got(page, "entry/4-1")

    assert entry["note"].startswith("<img src=x onerror=alert(1)>")
    assert "\u0000" not in entry["note"]
    assert HOSTILE in entry["steps"][0]["text"]


@pytest.mark.parametrize(
    ("body", "answer"),
    [
        ({"kind": "accept", "entry": "1-1"}, Accept("1-1")),
        ({"kind": "reject", "entry": "1-1"}, Reject("1-1")),
        ({"kind": "undo", "entry": "1-1"}, Undo("1-1")),
        ({"kind": "undo", "entry": "1-1", "decision": 3}, Undo("1-1", 3)),
        ({"kind": "take", "entry": "1-1", "number": 2}, Take("1-1", 2)),
        ({"kind": "type", "entry": "1-1", "words": "63", "choice": 1}, Type("1-1", "63", 1)),
        ({"kind": "note", "entry": "1-1", "words": "x"}, EditNote("1-1", "x")),
        ({"kind": "add", "at_s": 1.5, "words": "63 %"}, AddMissed(1_500_000_000, "63 %")),
    ],
)
def test_what_is_read(body: dict[str, Any], answer: Answer) -> None:
    """Every kind of answer."""
    assert (answer, "1-2", "so") == read_answer({**body, "revision": "1-2", "why": "so"})


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"kind": "drop"},
        {"kind": ["accept"], "entry": "1-1"},
        {"kind": "accept", "entry": 5},
        {"kind": "accept", "entry": "x" * 99},
        {"kind": "accept", "entry": "1-1", "revision": None},
        {"kind": "undo", "entry": "1-1", "decision": "3"},
        {"kind": "take", "entry": "1-1"},
        {"kind": "take", "entry": "1-1", "number": True},
        {"kind": "take", "entry": "1-1", "number": 1.5},
        {"kind": "type", "entry": "1-1", "words": ["63"]},
        {"kind": "type", "entry": "1-1", "words": "x" * 501},
        {"kind": "type", "entry": "1-1", "words": "63", "choice": "1"},
        {"kind": "note", "entry": "1-1", "words": "\ud800"},
        {"kind": "add", "at_s": "1", "words": "63 %"},
        {"kind": "add", "at_s": float("nan"), "words": "63 %"},
        {"kind": "add", "at_s": float("inf"), "words": "63 %"},
        {"kind": "add", "at_s": 1e300, "words": "63 %"},
        {"kind": "add", "words": "63 %"},
    ],
)
def test_what_is_no_answer(body: dict[str, Any], looked_at: Page, doubtful: Path) -> None:
    """It is refused, and stores nothing."""
    with pytest.raises(AnswerError):
        read_answer({"revision": "", **body})
    assert 400 == looked_at.reply(Asked("answer", body)).status
    assert () == decisions(doubtful)
