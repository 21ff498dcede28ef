"""The read-back: a loudspeaker that is there when it is wanted, and what it says."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence

import numpy as np

from logger.core.live_cut import OwnSound
from logger.core.tones import tone_of
from logger.core.verdicts import Verdict, spoken
from logger.errors import SoundError
from logger.model import RATE_HZ, Entry, Samples
from logger.sound.speaker import Speaker
from logger.voices.espeak import has_voice, speak
from logger.wiring.recording.asked import Readback

AFTER_S = 0.45
"""So long after a sound was to end it may still be in the air: what the host keeps, and the room."""
_AGAIN_S = 5.0
_NANO = 1_000_000_000


class Mouth:
    """Says what became of a call, and can say it again. It never raises: a drive goes on without it.

    Args:
        kind: in what form.
        own: told from when to when a sound of ours is to be heard.
        trouble: told what is wrong with the loudspeaker, and, with True, when it is put right.
    """

    def __init__(
        self, kind: Readback, own: Callable[[OwnSound], None], trouble: Callable[[str, bool], None]
    ) -> None:
        self._kind, self._own, self._trouble = kind, own, trouble
        self._lock = threading.Lock()
        self._speaker: Speaker | None = None
        self._again_s = 0.0
        self._troubled = False
        self._last: Samples | None = None

    def open(self) -> None:
        """Open the loudspeaker now, so that the first read-back need not wait for it."""
        if self._kind != "off":
            with self._lock:
                self._opened()

    def close(self) -> None:
        """Let go of the loudspeaker; it is opened again when there is something to say. Any thread may call this."""
        with self._lock:
            speaker, self._speaker = self._speaker, None
        if speaker is not None:
            speaker.close()

    def answer(self, verdict: Verdict, entries: Sequence[Entry]) -> None:
        """Say what became of a call."""
        if self._kind == "off":
            return
        text = spoken(entries) if self._kind == "voice" else ""
        sound = self._voice(text) if text else None
        self._say(tone_of(verdict) if sound is None else sound)

    def tell(self, text: str, tone: Samples) -> None:
        """Speak some words, for which a voice is used with tones too, where there is one; else play a tone."""
        if self._kind != "off":
            sound = self._voice(text) if self._kind == "voice" or has_voice() else None
            self._say(tone if sound is None else sound)

    def again(self) -> None:
        """Repeat what was said last."""
        if self._kind != "off":
            self._say(tone_of(Verdict.NOT_UNDERSTOOD) if self._last is None else self._last)

    def _say(self, sound: Samples) -> None:
        self._last = sound
        with self._lock:
            speaker = self._opened()
            if speaker is None:
                return
            now_ns = time.monotonic_ns()
            self._own(OwnSound(now_ns, now_ns + round((len(sound) / RATE_HZ + AFTER_S) * _NANO)))
            speaker.play(sound)

    def _voice(self, text: str) -> Samples | None:
        """Return words as sound, without the silence around them; None where there is no voice."""
        try:
            sound = speak(text)
        except SoundError as error:
            self._tell(str(error))
            return None
        loud = np.flatnonzero(np.abs(sound.astype(np.int32)) > 200)
        return sound[loud[0] : loud[-1] + 1] if len(loud) else None

    def _opened(self) -> Speaker | None:
        if self._speaker is not None and self._speaker.is_lost:
            self._speaker.close()
            self._speaker = None
        if self._speaker is None and time.monotonic() >= self._again_s:
            try:
                self._speaker = Speaker()
            except SoundError as error:
                self._again_s = time.monotonic() + _AGAIN_S
                self._tell(f"{error}; calls are taken without a read-back until then")
            else:
                if self._troubled:
                    self._troubled = False
                    self._trouble("the read-back can be heard again", True)
        return self._speaker

    def _tell(self, text: str) -> None:
        if not self._troubled:
            self._troubled = True
            self._trouble(text, False)
