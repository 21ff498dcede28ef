"""The sample drive reviewed in a real browser by keyboard alone, and found so in its log; docs/review.md tells the same walk."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

from browser import Seen
from command_line import CommandLine
from review_pictures import DOCS, NAMES, take_pictures
from review_server import ReviewServer

if TYPE_CHECKING:
    from playwright.sync_api import Browser

PAGE = DOCS / "review.md"


def test_every_doubt_is_settled_by_keyboard(sample: Path, tmp_path: Path, browser: Browser) -> None:
    """Hear the first and accept it, type a value, undo that, take the alternative; the log has just that."""
    folder = Path(shutil.copytree(sample, tmp_path / "drive"))
    nowhere = tmp_path / "nowhere"
    nowhere.mkdir()
    with ReviewServer(folder, nowhere) as server:
        seen = Seen(browser, server.address)
        assert "2 doubts left of 2" == seen.left
        assert "Note asked: how far in doubt" == seen.title
        seen.press("p")
        seen.until("document.querySelector('.where').textContent > '0.3'")
        assert 206 in [status for address, status in seen.came if address.endswith("/sound/17.wav")]
        seen.answered("i")
        assert "Trip 137.5 km in doubt" == seen.title
        told = seen.answered(*"127.5", "Enter")
        assert told.startswith("trip 127.5 km at 0:19:58: corrected.")
        walked = seen.keys
        assert "Nothing is in doubt" == seen.left
        seen.answered("u")
        assert ("1 doubt left of 2", "Trip 137.5 km in doubt") == (seen.left, seen.title)
        seen.answered("a")
        assert [] == seen.troubles
        assert all(address.startswith(server.address) for address in seen.asked)
        seen.close()
        server.end()
        assert (0, "odovox: nothing is in doubt") == (server.code, server.stderr.splitlines()[-1])

    log = CommandLine(nowhere)("log", folder, "--all", "--format", "jsonl")
    rows = {row["entry_id"]: row for row in map(json.loads, log.stdout.splitlines())}
    decided = {name: row for name, row in rows.items() if row["decisions"]}
    assert {"17-1": (None, "accepted"), "37-2": (127.5, "corrected")} == {
        name: (row["value"], row["status"]) for name, row in decided.items()
    }
    assert ["replace", "withdraw", "replace"] == [each["action"] for each in rows["37-2"]["decisions"]]
    assert "one thirty seven point five kilometers" == rows["37-2"]["heard"]
    assert not any(row["status"] == "flagged" for row in rows.values())
    # The walk is p and i, five keys and Enter.
    assert f"| the sample drive | 2 | {walked} |" in PAGE.read_text("utf-8")


def test_the_pictures_can_be_taken(sample: Path, tmp_path: Path, browser: Browser) -> None:
    """Those in docs/, which its page shows; `make review-pictures` puts new ones there."""
    take_pictures(Path(shutil.copytree(sample, tmp_path / "sample")), tmp_path, browser)

    text = PAGE.read_text("utf-8")
    for name in NAMES:
        kept, made = (DOCS / name).read_bytes(), (tmp_path / name).read_bytes()
        # The size stands in a PNG's header (ISO/IEC 15948, 11.2.2): bytes 16 to 23.
        assert kept[16:24] == made[16:24], name
        assert f"({name})" in text
        assert len(kept) < 250_000
