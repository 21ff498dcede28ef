"""The review page in a real browser: by keyboard, by pointer, with a screen reader's eyes, for two people at once."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser import Scheme, Seen
from review_server import ReviewServer
from reviewed_drives import METRIC, doubtful_drive, long_drive, store_called, straight_fixes

from logger.store import DriveStore
from logger.store.lock import RecordingLock

if TYPE_CHECKING:
    from playwright.sync_api import Browser

HOSTILE = "<img src=x onerror=\"document.title='owned'\"><b>bold</b>"
HOSTILE_SHEET = METRIC + "[test]\ncar = \"<script>document.title='owned'</script>\"\n"

Opened = tuple[ReviewServer, Seen]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drive with three doubts, a hostile sheet, and its whole sound; only to be copied."""
    folder = tmp_path_factory.mktemp("drives") / "<i>drive"
    return store_called(
        folder, doubtful_drive(), fixes=straight_fixes(600), whole_sound=True, sheet=HOSTILE_SHEET
    )


@pytest.fixture(scope="module")
def looked_at(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[ReviewServer]:
    """One server for all that only look."""
    with ReviewServer(made, tmp_path_factory.mktemp("nowhere")) as server:
        yield server


@pytest.fixture
def opened(made: Path, tmp_path: Path, browser: Browser) -> Iterator[Opened]:
    """A copy of the drive, served, and open in a window; nothing went wrong in it by the end."""
    folder = Path(shutil.copytree(made, tmp_path / "drive"))
    with ReviewServer(folder, tmp_path) as server:
        seen = Seen(browser, server.address)
        yield server, seen
        assert [] == seen.troubles
        seen.close()


def test_other_doubts_vanish_before_ones_eyes(opened: Opened) -> None:
    """Seen beside the next doubt and in the list, and told to a screen reader; undone, they are back."""
    _, seen = opened
    assert ["Charge 19 %", "A call that was not understood", "Range left 312 km"] == seen.texts(
        "#entries .what"
    )
    told = seen.answered("7", "7", "Enter")

    assert (
        "charge 77 % at 0:06:10: corrected. Settled with it: range left 312 km at 0:09:10. 1 doubt left."
        == told
    )
    assert "polite" == seen.page.get_attribute("#said", "aria-live")
    assert ["Settled with it: range left 312 km at 0:09:10"] == seen.texts(".did .gone")
    assert ["vanished with your answer"] == seen.texts("#entries .vanished .state")
    assert "A call that was not understood in doubt" == seen.title
    told = seen.answered("u")
    assert "Now in doubt: range left 312 km at 0:09:10." in told
    assert ("3 doubts left of 3", "Charge 19 % in doubt") == (seen.left, seen.title)


def test_words_choices_and_what_means_nothing(opened: Opened) -> None:
    """Typed words; a text with more than one meaning asks back; one with none says what is expected."""
    _, seen = opened
    seen.press("ArrowRight", "t")
    seen.type("hello")
    seen.press("Enter")
    seen.page.wait_for_selector(".trouble:not(:empty)")
    assert "'hello' is nothing that can be called out" in seen.text(".typing .trouble")
    seen.press("Escape", "t")
    seen.type("seventy five")
    seen.press("Enter")
    seen.page.wait_for_selector(".typing .offered button")
    offered = seen.texts(".typing .offered button")
    letter = next(text[0] for text in offered if text.endswith("charge 75 %"))
    told = seen.answered(letter)
    assert told.startswith("charge 75 % at 0:07:40: corrected.")


def test_reasons_notes_and_missed_calls(opened: Opened) -> None:
    """A reason goes along; a note is edited; what was missed is added at the moment that was heard."""
    server, seen = opened
    seen.press("r")
    seen.type("wind noise")
    seen.press("Escape")
    seen.answered("x")
    seen.page.check("input[value=all]")
    seen.page.click("#entries button:has-text('Note headwind')")
    seen.until("document.querySelector('#entry h2').textContent.startsWith('Note headwind')")
    seen.press("t")
    seen.type(HOSTILE)
    told = seen.answered("Enter")
    assert HOSTILE in told
    with seen.page.expect_response(lambda response: "/moment/" in response.url) as came:
        seen.press("m")
        seen.page.fill("#missed-when", "0:05:20")
        seen.page.click("#missing button:has-text('Hear it')")
    assert came.value.ok
    seen.page.fill("#missed-words", "note rain")
    seen.answered("Enter")
    assert "Note rain accepted" == seen.title

    with DriveStore.open(Path(server_folder(server)), readonly=True) as store:
        rejected, edited, added = store.decisions()
    assert "wind noise" == rejected.why
    assert HOSTILE == edited.note
    assert ("rain", 320_000_000_000) == (added.note, added.at_ns)


def server_folder(server: ReviewServer) -> str:
    """The folder of the drive that a server serves."""
    return Path(f"/proc/{server.pid}/cmdline").read_bytes().split(b"\0")[4].decode()


def test_hostile_text_is_shown_as_text(opened: Opened) -> None:
    """In a note, a reason, typed words, the drive's name and its sheet: no element is made of it, no script runs."""
    server, seen = opened
    found = server.answer(kind="note", entry="4-1", words=HOSTILE, why=HOSTILE)
    assert 200 == found.status
    seen.run("document.dispatchEvent(new Event('visibilitychange'))")
    seen.page.check("input[value=all]")
    seen.page.click("#entries button:has-text('bold')")
    seen.page.wait_for_selector(".history")

    assert seen.title.startswith(f"Note {HOSTILE}")
    assert HOSTILE in seen.text(".history li")
    assert 0 == seen.page.locator("#entry img, #entry b, #charts img, #list img").count()
    assert "owned" not in seen.page.title()
    point = seen.page.locator("#charts [data-id='4-1']").first
    assert HOSTILE in (point.get_attribute("aria-label") or "")


def test_a_chart_is_a_way_in(looked_at: ReviewServer, browser: Browser) -> None:
    """Hovering tells what a point is, a click goes there; by keyboard the same; doubts have a shape of their own."""
    seen = Seen(browser, looked_at.address)
    assert 4 == seen.page.locator("#charts figure").count()
    assert 10 == seen.page.locator("#charts [data-id]").count()
    point = seen.page.locator("#charts [data-id='3-2']")
    point.hover()
    assert "Trip 46.6 km at 0:03:12, accepted" == seen.text("#tip")
    assert seen.page.locator("#tip").is_visible()
    point.click()
    seen.until("document.querySelector('#entry h2').textContent.startsWith('Trip 46.6 km')")

    seen.page.locator("#charts [role=listbox]").first.focus()
    seen.press("Home", "ArrowRight")
    assert "Charge 79 % at 0:01:40, accepted" == seen.text("#tip")
    active = seen.run("document.activeElement.getAttribute('aria-activedescendant')")
    assert "Charge 79 % at 0:01:40, accepted" == seen.page.get_attribute(f"[id='{active}']", "aria-label")
    seen.press("End", "Enter")
    seen.until("document.querySelector('#entry h2').textContent.startsWith('Charge 19 %')")

    shapes = {
        status: seen.page.locator(f"#charts [data-id].{status} path").first.get_attribute("d")
        for status in ("accepted", "flagged")
    }
    assert shapes["accepted"] != shapes["flagged"]
    assert [] == seen.troubles
    seen.close()


def test_sound_slower_and_wider(looked_at: ReviewServer, browser: Browser) -> None:
    """It plays and goes on, slower when asked, with two seconds on each side, and from where the waveform is clicked."""
    seen = Seen(browser, looked_at.address)
    seen.page.wait_for_selector(".wave svg")
    assert "0.0 of 6.0 s" == seen.text(".where")
    seen.press("p")
    seen.until("document.querySelector('.where').textContent > '0.2'")
    seen.press("s")
    assert "true" == seen.page.get_attribute("button[aria-keyshortcuts=s]", "aria-pressed")
    with seen.page.expect_response(lambda response: response.url.endswith("/sound/5-wide.wav")) as came:
        seen.press("w")
    assert 206 == came.value.status
    seen.until("document.querySelector('.where').textContent.endsWith('of 10.0 s')")
    box = seen.page.locator(".wave svg").bounding_box()
    assert box is not None
    seen.page.mouse.click(box["x"] + 0.8 * box["width"], box["y"] + 20)
    seen.until("document.querySelector('.where').textContent > '7.9'")
    assert [] == seen.troubles
    seen.close()


def test_an_answer_is_about_what_is_shown(opened: Opened) -> None:
    """While another entry is on its way, and where a key is held down, nothing is answered by mistake."""
    server, seen = opened
    # The next entry was fetched beforehand, the one before was not.
    seen.page.route("**/entry/7-1", lambda route: (seen.page.wait_for_timeout(600), route.continue_()))
    seen.press("ArrowLeft", "x", "ArrowRight")
    seen.page.unroute_all(behavior="wait")
    seen.until("document.querySelector('#entry h2').textContent.startsWith('Charge 19 %')")
    for _ in range(4):
        seen.page.keyboard.down("x")
        seen.page.wait_for_timeout(400)
    seen.page.keyboard.up("x")
    seen.until("document.querySelector('#left').textContent.startsWith('1 doubt')")

    with DriveStore.open(Path(server_folder(server)), readonly=True) as store:
        assert ["5-1"] == [decision.entry_id for decision in store.decisions()]


def test_two_reviewers(opened: Opened, browser: Browser) -> None:
    """The second is told who was first, sees it, and nothing of theirs was stored."""
    server, ada = opened
    with ReviewServer(Path(server_folder(server)), Path(server_folder(server)).parent, who="Bo") as other:
        bo = Seen(browser, other.address)
        ada.answered("a")
        bo.press("x")
        bo.page.wait_for_selector("#alert:not(:empty)")
        assert "Ada has decided about entry 5-1 meanwhile; nothing of yours was stored" in bo.text("#alert")
        assert "Charge 90 % corrected" == bo.title
        assert "Ada changed charge 19 % (in doubt) to charge 90 %" in bo.text(".history li")
        assert [] == bo.troubles
        bo.close()
    with DriveStore.open(Path(server_folder(server)), readonly=True) as store:
        assert ["Ada"] == [decision.who for decision in store.decisions()]


def test_while_it_is_recorded(opened: Opened) -> None:
    """One may look and listen, is told so, and no answer is taken."""
    server, seen = opened
    with RecordingLock(Path(server_folder(server))):
        seen.run("document.dispatchEvent(new Event('visibilitychange'))")
        seen.page.wait_for_selector("#alert:not(:empty)")
        assert "this drive is being recorded just now" in seen.text("#alert")
        seen.press("x")
        seen.page.wait_for_selector(".typing .trouble:not(:empty)")
        assert "being recorded" in seen.text(".typing .trouble")
    assert 3 == len([entry for entry in server.get("state").json["entries"] if entry["status"] == "flagged"])


def test_single_keys_can_be_turned_off(looked_at: ReviewServer, browser: Browser) -> None:
    """As WCAG 2.2, criterion 2.1.4 asks; everything has a button as well."""
    seen = Seen(browser, looked_at.address)
    seen.press("?")
    seen.page.uncheck("#keys input[type=checkbox]")
    seen.press("Escape", "ArrowRight")
    seen.page.wait_for_timeout(200)
    assert "Charge 19 % in doubt" == seen.title
    names = {"p", "s", "w", "a", "b", "i", "x"}
    assert names <= set(
        seen.run(
            "[...document.querySelectorAll('#entry [aria-keyshortcuts]')].map((each) => each.ariaKeyShortcuts)"
        )
    )
    seen.close()


STATES: dict[str, Callable[[Seen], None]] = {
    "a doubt": lambda _: None,
    "everything": lambda seen: seen.page.check("input[value=all]"),
    "the keys": lambda seen: seen.press("?"),
    "a missed call": lambda seen: seen.press("m"),
}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1600])
def test_it_is_there_for_everybody(
    looked_at: ReviewServer, browser: Browser, scheme: Scheme, width: int
) -> None:
    """axe-core finds nothing serious in any state, and nothing sticks out to the side."""
    seen = Seen(browser, looked_at.address, width=width, scheme=scheme, quiet=True)
    for name, reach in STATES.items():
        reach(seen)
        assert [] == seen.serious_findings(), name
        seen.press("Escape")
    assert width == seen.run("document.documentElement.scrollWidth")
    assert "0s" == seen.run("getComputedStyle(document.querySelector('#entry')).transitionDuration")
    assert [] == seen.troubles
    seen.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_what_an_answer_did_is_there_for_everybody(opened: Opened, browser: Browser, scheme: Scheme) -> None:
    """The same after an answer, with choices on offer, and when all is done."""
    server, first = opened
    first.answered("7", "7", "Enter")
    seen = Seen(browser, server.address, scheme=scheme)
    seen.press("t")
    seen.type("75")
    seen.press("Enter")
    seen.page.wait_for_selector(".typing .offered button")
    assert [] == seen.serious_findings()
    seen.answered("a")
    assert "Nothing is in doubt any more" == seen.title
    assert [] == seen.serious_findings()
    seen.press("u")
    seen.page.wait_for_selector(".history")
    assert [] == seen.serious_findings()
    seen.close()


def test_five_hours_open_in_two_seconds(
    tmp_path_factory: pytest.TempPathFactory, tmp_path: Path, browser: Browser
) -> None:
    """20,000 fixes and 400 entries: the better of two openings, and a frame at a time while the pointer goes over points."""
    folder = long_drive(tmp_path_factory.mktemp("drives") / "long")
    took = []
    with ReviewServer(folder, tmp_path) as server:
        with DriveStore.open(folder, readonly=True) as store:
            assert len(store.fixes()) >= 20_000
            assert len(store.entries()) >= 400
        for _ in range(2):
            seen = Seen(browser, server.address)
            took.append(seen.run("performance.getEntriesByName('ready')[0].startTime"))
            worst = seen.run(MOVED_OVER)
            assert [] == seen.troubles
            seen.close()

    assert min(took) < 2_000, took
    assert worst < 100, worst


MOVED_OVER = """() => new Promise((resolve) => {
  const points = [...document.querySelectorAll('#charts [data-id]')];
  const frames = [];
  let last = performance.now();
  const step = () => {
    const now = performance.now();
    frames.push(now - last);
    last = now;
    if (frames.length > 60) return resolve(frames.sort((one, other) => one - other)[54]);
    points[frames.length * 5].dispatchEvent(new PointerEvent('pointermove', { bubbles: true }));
    requestAnimationFrame(step);
  };
  requestAnimationFrame(step);
})"""
"""How long nine in ten frames take at most while points are hovered over, in milliseconds."""
