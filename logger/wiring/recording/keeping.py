"""The sound of a drive, kept on the disk as it comes; what the disk refuses is held in memory until it takes it."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from pathlib import Path

from logger.errors import OdovoxError
from logger.model import RATE_HZ, SoundBlock
from logger.sound.whole_sound import WholeSound
from logger.wiring.recording.asked import Trouble

MOST_HELD_S = 600.0
"""Ten minutes are 19 MB: time to see it on the way and to make room at the next stop, and no burden on any machine."""
_AGAIN_S = 5.0
"""A disk that refused sound is tried again so often."""


class Keeper:
    """Belongs to one thread, and never raises: what is wrong is told.

    Args:
        drive: the drive's folder.
        tell: told once when the disk refuses sound, and once when it takes it again.
    """

    def __init__(self, drive: Path, tell: Callable[[Trouble], None]) -> None:
        self._drive, self._tell = drive, tell
        self._whole: WholeSound | None = None
        self._source_id = 0
        self._held: deque[tuple[int, SoundBlock]] = deque()
        self._held_samples = self._lost_samples = 0
        self._refused = False
        self._again_s = 0.0

    def keep(self, source_id: int, block: SoundBlock) -> None:
        """Keep a block, behind all that is held already."""
        self._held.append((source_id, block))
        self._held_samples += len(block.samples)
        while self._held_samples > MOST_HELD_S * RATE_HZ:
            self._lost_samples += self._took_first()
        if not self._refused or time.monotonic() >= self._again_s:
            self._write()

    def end_file(self) -> None:
        """End the file that is being written; the next block begins another one."""
        whole, self._whole = self._whole, None
        try:
            if whole is not None:
                whole.close()
        except OdovoxError as error:  # it stays as the WAV file it is
            self._tell(Trouble("sound", str(error)))

    def end(self) -> None:
        """Write what is held, if the disk takes it now, and end the file; more may come later."""
        if self._held:
            self._write()
        self.end_file()

    def give_up(self) -> None:
        """Tell how much sound is lost if nothing more is written."""
        lost_samples = self._lost_samples + self._held_samples
        if lost_samples:
            self._tell(Trouble("sound", f"{lost_samples / RATE_HZ:.0f} s of sound could not be kept"))

    def _write(self) -> None:
        try:
            while self._held:
                source_id, block = self._held[0]
                if self._whole is None or self._source_id != source_id:
                    self.end_file()
                    self._whole, self._source_id = WholeSound(self._drive, source_id), source_id
                self._whole.add(block.first_sample, block.samples)
                self._took_first()
        except OdovoxError as error:
            self._whole = None
            self._again_s = time.monotonic() + _AGAIN_S
            if not self._refused:
                self._refused = True
                held = f"the newest {MOST_HELD_S / 60:.0f} minutes of it are held in memory until it can be"
                self._tell(Trouble("sound", f"the sound is not kept: {error}; {held}"))
        else:
            if self._refused:
                missing = f"{self._lost_samples / RATE_HZ:.0f} s" if self._lost_samples else "nothing"
                self._refused, self._lost_samples = False, 0
                self._tell(
                    Trouble("sound", f"the sound is kept again; {missing} of it is missing", over=True)
                )

    def _took_first(self) -> int:
        """Take the oldest block out, and return how many samples it had."""
        _, block = self._held.popleft()
        self._held_samples -= len(block.samples)
        return len(block.samples)
