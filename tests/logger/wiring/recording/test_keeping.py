"""Sound goes to the disk as it comes; while the disk refuses it, the newest is held, told once, and written when it can be."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from logger.model import RATE_HZ, SoundBlock
from logger.sound.whole_sound import sound_files
from logger.wiring.recording import keeping
from logger.wiring.recording.asked import Trouble
from logger.wiring.recording.keeping import MOST_HELD_S, Keeper

BLOCK = RATE_HZ // 20


class Drive:
    """A folder whose disk may refuse sound: a file is in the way of the folder for it."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.folder, self.told = folder, list[Trouble]()
        self.keeper = Keeper(folder, self.told.append)
        self.sound = np.random.default_rng(1).integers(-3000, 3000, 700 * RATE_HZ, np.int16)
        self.at = 0
        monkeypatch.setattr(keeping, "_AGAIN_S", 0.0)

    def refuse(self) -> None:
        """Put the file in the way."""
        (self.folder / "sound").touch()

    def take(self) -> None:
        """Take it away."""
        (self.folder / "sound").unlink()

    def hear(self, seconds: float, source_id: int = 1) -> None:
        """Keep the next sound, block by block."""
        for _ in range(round(seconds * 20)):
            self.keeper.keep(source_id, SoundBlock(self.at, self.sound[self.at : self.at + BLOCK]))
            self.at += BLOCK

    def kept(self, source_id: int = 1) -> list[tuple[int, np.ndarray]]:
        """What is on the disk: each file's first sample and its sound."""
        return [
            (first, soundfile.read(path, dtype="int16")[0])
            for first, path in sound_files(self.folder, source_id)
        ]


@pytest.fixture
def drive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Drive:
    """A drive that has kept nothing yet."""
    return Drive(tmp_path, monkeypatch)


def test_nothing_is_missing_after_a_while(drive: Drive) -> None:
    """What came while the disk refused it is written, in order, before what comes then; both are told in a line each."""
    drive.refuse()
    drive.hear(5)
    drive.take()
    drive.hear(2)
    drive.keeper.end()
    drive.keeper.give_up()

    ((first, sound),) = drive.kept()
    assert 0 == first
    assert drive.sound[: 7 * RATE_HZ].tolist() == sound.tolist()
    assert [False, True] == [each.over for each in drive.told]
    assert drive.told[0].text.startswith("the sound is not kept: ")
    assert drive.told[0].text.endswith("; the newest 10 minutes of it are held in memory until it can be")
    assert "the sound is kept again; nothing of it is missing" == drive.told[1].text


def test_it_holds_no_more_than_it_says(drive: Drive) -> None:
    """Of eleven and a half minutes the oldest are lost, which is told; the rest is where it belongs."""
    drive.refuse()
    drive.hear(690)
    drive.take()
    drive.keeper.end()

    kept = drive.kept()
    assert 90 * RATE_HZ == kept[0][0]
    assert round(MOST_HELD_S * RATE_HZ) == sum(len(sound) for _, sound in kept)
    assert all(drive.sound[first : first + len(sound)].tolist() == sound.tolist() for first, sound in kept)
    assert "the sound is kept again; 90 s of it is missing" == drive.told[-1].text


def test_a_disk_that_refuses_to_the_end(drive: Drive) -> None:
    """What is lost then is told; a microphone that was opened anew in between changes nothing of it."""
    drive.refuse()
    drive.hear(3)
    drive.keeper.end()
    drive.hear(2, source_id=2)
    drive.keeper.end()
    drive.keeper.give_up()

    assert ["5 s of sound could not be kept"] == [each.text for each in drive.told[1:]]


def test_two_microphones_are_kept_apart(drive: Drive) -> None:
    """What is held of the first goes to the first, though the second is open by then."""
    drive.refuse()
    drive.hear(2)
    drive.keeper.end()
    drive.hear(2, source_id=2)
    drive.take()
    drive.hear(1, source_id=2)
    drive.keeper.end()

    assert [(0, 2 * RATE_HZ)] == [(first, len(sound)) for first, sound in drive.kept(1)]
    assert [(2 * RATE_HZ, 3 * RATE_HZ)] == [(first, len(sound)) for first, sound in drive.kept(2)]
