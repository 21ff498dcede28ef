"""A call's sound through the loudspeaker, for a review in the terminal."""

from __future__ import annotations

from contextlib import suppress
from types import TracebackType
from typing import Self

import numpy as np

from logger.errors import SoundError
from logger.model import Samples
from logger.sound.speaker import Speaker

SLOWER = 4 / 3
"""So many times as long; the voice gets as much deeper."""


class Player:
    """Plays sound as long as it is open; use it in `with`. The loudspeaker is opened when there is something to play."""

    def __init__(self) -> None:
        self._speaker: Speaker | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._close()

    def play(self, samples: Samples, *, slower: bool = False) -> None:
        """Play sound to its end.

        Raises:
            SoundError: there is no loudspeaker, or it takes no sound.
        """
        if self._speaker is None or self._speaker.is_lost:
            self._close()
            self._speaker = Speaker()
        try:
            self._speaker.play(_longer(samples) if slower else samples)
            self._speaker.wait()
        except SoundError:
            self._close()
            raise

    def _close(self) -> None:
        if self._speaker is not None:
            with suppress(SoundError):
                self._speaker.close()
            self._speaker = None


def _longer(samples: Samples) -> Samples:
    import soxr  # heavy

    made: Samples = soxr.resample(np.asarray(samples, np.int16), 3, 4)
    return made
