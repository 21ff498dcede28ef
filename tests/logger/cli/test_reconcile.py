"""`odovox reconcile`: a line of summary, and the exit code says whether a human is needed; `--explain` only reads."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import Result
from heard import Counting

from logger.model import RATE_HZ, Drive, HeardWord, Hypothesis, Recognition, Status
from logger.sound.clips import write_clip
from logger.store import DriveStore
from logger.wiring.choosing import alone
from logger.wiring.listening_again import HeardAgain
from logger.wiring.reconciling import Summary


def test_it_sums_up(invoke: Callable[..., Result], folder: Path, tmp_path: Path) -> None:
    """Nothing on stdout, one summary on stderr; the code is 1 exactly when an entry is flagged."""
    copy = Path(shutil.copytree(folder, tmp_path / "copy"))

    result = invoke("reconcile", copy)

    with DriveStore.open(copy) as store:
        flagged = any(entry.status == "flagged" for entry in store.entries())
    assert int(flagged) == result.exit_code
    assert "" == result.stdout
    assert f"odovox: {copy}: 3 calls, 5 entries" in result.stderr


def test_nothing_heard_needs_a_human(invoke: Callable[..., Result], folder: Path, tmp_path: Path) -> None:
    """A drive without any call ends with 1."""
    with DriveStore.open(folder, readonly=True) as store:
        drive = store.drive()
    DriveStore.create(tmp_path / "empty", drive).close()

    assert 1 == invoke("reconcile", tmp_path / "empty").exit_code


def test_an_entry_is_explained(invoke: Callable[..., Result], folder: Path) -> None:
    """The account is data on stdout, with code 0 and nothing on stderr."""
    result = invoke("reconcile", folder, "--explain", "2-1")

    assert (0, "") == (result.exit_code, result.stderr)
    assert result.stdout.startswith("Entry 2-1: charge 63 %, accepted")
    for part in ("Heard by typed", "What the reading may be", "Beside it", "The rules"):
        assert f"\n\n{part}" in result.stdout


def test_an_entry_is_explained_as_json(invoke: Callable[..., Result], folder: Path) -> None:
    """One object on one line."""
    result = invoke("reconcile", folder, "--explain", "2-1", "--json")

    assert 0 == result.exit_code
    (line,) = result.stdout.splitlines()
    assert "2-1" == json.loads(line)["entry"]["entry_id"]


def test_an_unknown_entry_is_one_line(invoke: Callable[..., Result], folder: Path) -> None:
    """It says how ids look and suggests one; the code is 2."""
    result = invoke("reconcile", folder, "--explain", "2.1")

    assert (2, "") == (result.exit_code, result.stdout)
    (line,) = result.stderr.splitlines()
    assert line.startswith("odovox: error: ")
    assert line.endswith("did you mean 2-1?")


@pytest.mark.parametrize(
    "options",
    [("--json",), ("--explain", "1-1", "--recogniser", "auto"), ("--explain", "1-1", "--model", "m")],
)
def test_what_does_not_go_together(
    invoke: Callable[..., Result], folder: Path, options: tuple[str, ...]
) -> None:
    """Explaining only reads, and only an explanation can be JSON."""
    assert 2 == invoke("reconcile", folder, *options).exit_code


@pytest.mark.parametrize(
    ("options", "chosen"),
    [
        (("--recogniser", "pocketsphinx"), ("pocketsphinx", None)),
        (("--model", "m"), ("auto", Path("m"))),
        (("--recogniser", "vosk", "--model", "m"), ("vosk", Path("m"))),
    ],
)
def test_the_choice_reaches_the_job(
    invoke: Callable[..., Result],
    monkeypatch: pytest.MonkeyPatch,
    options: tuple[str, ...],
    chosen: tuple[str, Path | None],
) -> None:
    """As with ingest; a clip that cannot be heard makes the code 1."""
    found: list[tuple[Any, ...]] = []

    def job(folder: Path, *, choose: Callable[[Any], Any], listener: Any) -> HeardAgain:
        choose(None)
        found.append((folder,))
        return HeardAgain(Summary(1, {Status.ACCEPTED: 1}, ()), len(found) - 1, 0)

    monkeypatch.setattr("logger.wiring.choosing.choose", lambda *asked: found.append(asked))
    monkeypatch.setattr("logger.wiring.listening_again.listen_again", job)

    assert 1 == invoke("reconcile", "d", *options).exit_code
    assert [(*chosen, None), (Path("d"),)] == found


@pytest.fixture
def with_sound(tmp_path: Path) -> Path:
    """A drive of three calls with kept sound."""
    folder = tmp_path / "drive"
    with DriveStore.create(folder, Drive(0, "")) as store:
        (folder / "clips").mkdir()
        source = store.add_source("a.wav", "aa", 0)
        for number in range(3):
            clip = f"clips/{number}.flac"
            write_clip(folder / clip, np.ones(RATE_HZ, np.int16))
            said = store.add_utterance(source.id, number * RATE_HZ, RATE_HZ, number * 60_000_000_000, clip)
            words = tuple(HeardWord(word) for word in ("checkpoint", "sixty", "percent"))
            store.add_recognition(Recognition(said.id, "typed", (Hypothesis(0, words),)))
    return folder


def test_kept_sound_is_heard_again(
    invoke: Callable[..., Result], with_sound: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who listens and what is odd is told on stderr, a line each; a clip that is gone makes the code 1."""
    recogniser = Counting(["checkpoint fifty nine percent"] * 3, name="other")
    monkeypatch.setattr("logger.wiring.choosing.choose", lambda *_: alone(recogniser, "asked for"))
    (with_sound / "clips" / "1.flac").unlink()

    result = invoke("reconcile", with_sound, "--recogniser", "both")

    assert (1, "") == (result.exit_code, result.stdout)
    first, odd, last = result.stderr.splitlines()
    assert "odovox: listening with other (asked for)" == first
    assert odd.startswith(f"odovox: note: {with_sound}/clips/1.flac: cannot be read")
    assert last.startswith(f"odovox: {with_sound}: 3 calls, 3 entries")


def test_ctrl_c_is_one_line(
    invoke: Callable[..., Result], with_sound: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The code is 130, and the same command goes on from there."""

    def stop(asked: int) -> None:
        if asked == 2:
            raise KeyboardInterrupt

    stopping = Counting(["checkpoint fifty nine percent"] * 3, name="other", before=stop)
    monkeypatch.setattr("logger.wiring.choosing.choose", lambda *_: alone(stopping, "asked for"))
    stopped = invoke("reconcile", with_sound, "--recogniser", "both")
    going_on = Counting(["checkpoint fifty nine percent"] * 3, name="other")
    monkeypatch.setattr("logger.wiring.choosing.choose", lambda *_: alone(going_on, "asked for"))
    invoke("reconcile", with_sound, "--recogniser", "both")

    assert 130 == stopped.exit_code
    assert "the same command goes on from there" in stopped.stderr.splitlines()[-1]
    assert 1 == going_on.asked


def test_a_real_recogniser_hears_kept_sound(invoke: Callable[..., Result], with_sound: Path) -> None:
    """PocketSphinx hears no call in silence, and its answer counts."""
    result = invoke("reconcile", with_sound, "--recogniser", "pocketsphinx")

    assert 1 == result.exit_code
    assert result.stderr.splitlines()[-1].startswith(f"odovox: {with_sound}: 0 calls, no entries")
