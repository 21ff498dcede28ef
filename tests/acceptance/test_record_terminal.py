"""What a person sees of a drive on a terminal, small and large, also while the sound server hangs, and how it ends."""

from __future__ import annotations

import re
import time
from pathlib import Path

from command_line import CommandLine, command, environment
from gps_receiver import Receiver
from live_drive import drive_log, opens, rows, spoken
from sound_server import Feed, SoundServer
from terminal import Terminal

TWO = "sixty two percent, ninety seven point two miles"
CTRL_C = "\x03"
HEAD = re.compile(r"\d:\d\d:\d\d   charge (-|\d+ %\??)   \d+\.\d mi")
BAR = re.compile(r"microphone   \[[#-]{20}\]")
VIEW_LINES = 11


def view_of(lines: list[str]) -> list[str]:
    """The lines of the view, of which there is one."""
    heads = [number for number, line in enumerate(lines) if HEAD.fullmatch(line)]
    assert len(heads) == 1, lines
    return lines[heads[0] : heads[0] + VIEW_LINES]


def shows(lines: list[str], *, calls: str, newest: list[str]) -> bool:
    """Whether a screen shows a view with all this, a fix, sound, and no trouble with it."""
    if not any(map(HEAD.fullmatch, lines)):
        return False
    view = view_of(lines)
    return bool(
        view[1] == "receiver     fix"
        and BAR.fullmatch(view[2])
        and view[3] == calls
        and not view[4].startswith("! microphone")
        and [line.split(" ", 3)[-1] for line in view[6:] if line] == newest
    )


def left_as_it_was(terminal: Terminal) -> None:
    """Of the view nothing is left, above or below; the cursor is shown behind the last line, and no setting has changed."""
    lines = terminal.lines
    assert not [line for line in (*terminal.scrolled, *lines) if HEAD.fullmatch(line) or BAR.fullmatch(line)]
    assert max(map(len, lines)) < 80
    assert (max(number for number, line in enumerate(lines) if line) + 1, 0, False) == terminal.cursor
    assert terminal.settings == terminal.settings_now


def test_on_a_terminal(run: CommandLine, tmp_path: Path) -> None:
    """At 40x12, then 80x24: all that is to be seen, one view that never scrolls or wraps; a hanging sound server; Ctrl-C."""
    folder = tmp_path / "drive"
    (nowhere := tmp_path / "nowhere").mkdir()
    with SoundServer() as server, Receiver(3, moving=True) as receiver, Feed(server, spoken([], 1.0)) as feed:
        arguments = command(
            "record", "--out", folder, "--gpsd", receiver.address, "--recogniser", "pocketsphinx"
        )
        variables = environment(nowhere) | server.environment
        with Terminal(arguments, 40, 12, folder=nowhere, environment=variables) as terminal:
            terminal.wait_for(lambda lines: shows(lines, calls="0 calls, 0 in doubt", newest=[]))
            feed.say(spoken([(0.5, "note headwind")], 3.0))
            terminal.wait_for("headwind")
            time.sleep(1.0)  # until the tone is over: who calls into it may not be heard
            feed.say(spoken([(0.5, f"checkpoint {TWO}")], 6.0))
            called = ["headwind", "charge 62 %", "trip 97.2 mi"]
            small = terminal.wait_for(
                lambda lines: [line.split(" ", 3)[-1].rstrip(" ?") for line in lines[6:] if line] == called
            )
            doubts = sum(line.endswith(" ?") for line in small)
            newest = [line.split(" ", 3)[-1] for line in small[6:] if line]
            state = f"2 calls, {doubts} in doubt"
            assert shows(small, calls=state, newest=newest)
            assert small[-1] == ""
            assert (11, 0, False) == terminal.cursor
            assert max(map(len, [*small, *terminal.scrolled])) < 40
            # The middle of a remark is no place to break a word.
            assert "  the road, nothing on a screen is" in terminal.scrolled
            terminal.resize(80, 24)
            server.freeze()
            frozen_s = time.monotonic()
            hanging = terminal.wait_for("! microphone 'default' is open but has given no sound for")
            receiver.mode = 1
            terminal.wait_for("receiver     no fix")
            time.sleep(max(0.0, frozen_s + 8.0 - time.monotonic()))
            server.thaw()
            receiver.mode = 3
            terminal.wait_for(lambda lines: shows(lines, calls=state, newest=newest))
            feed.say(spoken([(0.5, "checkpoint sixty one percent")], 3.0))
            large = terminal.wait_for(lambda lines: any("charge 61 %" in line for line in lines[6:]))
            terminal.type(CTRL_C)
            code = terminal.process.wait(30)
            terminal.wait_for(f"{folder}`")
            assert code in {0, 1}
            left_as_it_was(terminal)
            told = "\n".join([*terminal.scrolled, *terminal.lines])

    assert view_of(hanging)[2] == "microphone   none"
    assert view_of(large)[3].startswith("3 calls, ")
    assert max(map(len, large)) < 80
    assert 1 == told.count("has given no sound for"), told
    assert 2 == told.count("listening to 'default'"), told
    assert "odovox: settling the whole drive" in told
    assert "Traceback" not in told
    # Two openings of the microphone, and what was said after it hung.
    assert 2 == len(rows(folder, "SELECT id FROM source WHERE sample_count > 8000"))
    assert ["note", "charge", "trip", "charge"] == [row["quantity"] for row in drive_log(run, folder)]
    opens(run, folder)
