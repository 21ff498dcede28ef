"""A loudspeaker that stays open, so that what is to be said comes at once."""

from __future__ import annotations

import threading
import time
from typing import Any

import numpy as np

from logger.errors import SoundLostError
from logger.model import RATE_HZ, Samples
from logger.sound.open_device import OpenDevice
from logger.sound.portaudio import SoundDevice

_BLOCK_S = 0.02
_STALL_S = 2.0
_NANO = 1_000_000_000


class Speaker(OpenDevice):
    """An open loudspeaker; use it in `with`. It plays silence until it is given something.

    Sound is mono at `RATE_HZ`; the host converts it to what the device works at.

    Args:
        name: the device's name or a part of it; None for the default one.

    Raises:
        SoundError: there is no such device, it cannot be opened, or PortAudio is not installed.
    """

    def __init__(self, name: str | None = None) -> None:
        self._lock = threading.Lock()
        self._waiting: bytes = b""
        self._at = 0
        self._begins_mono_ns: int | None = None
        self._called_mono_ns: int | None = None
        self._done = threading.Event()
        super().__init__(
            "output", name, self._opened, instead="choose another one in the system's sound settings"
        )
        self._start()

    def _opened(self, device: SoundDevice) -> Any:
        return self._stream_of(
            device, self._callback, rate_hz=RATE_HZ, channels=1, latency="low", block_s=_BLOCK_S
        )

    @property
    def is_lost(self) -> bool:
        """Whether the device takes no more sound: it has ended, or has asked for none for 2 s."""
        last = self._called_mono_ns
        stalled = last is not None and time.monotonic_ns() - last > _STALL_S * _NANO
        return self._closed or self._ended.is_set() or stalled

    def play(self, samples: Samples) -> None:
        """Begin to play; what was playing is broken off."""
        coded = np.ascontiguousarray(samples, np.int16).tobytes()
        with self._lock:
            self._waiting, self._at, self._begins_mono_ns = coded, 0, None
            self._done.clear()

    def wait(self) -> int:
        """Wait until what `play` was given has been handed to the device.

        Returns:
            When its first sample was to be heard, on the monotonic clock in nanoseconds, as the host tells.

        Raises:
            SoundLostError: the device takes no more sound.
        """
        since_mono_ns = time.monotonic_ns()
        while not self._done.wait(0.05):
            last = max(since_mono_ns, self._called_mono_ns or 0)
            if self._ended.is_set() or time.monotonic_ns() - last > _STALL_S * _NANO:
                raise SoundLostError(
                    f"loudspeaker '{self.device.name}' takes no sound: unplugged, or the sound server has ended; plug it in "
                    "again, or choose another one in the system's sound settings"
                )
        assert self._begins_mono_ns is not None
        return self._begins_mono_ns

    def _callback(self, out: Any, frames: int, times: Any, status: Any) -> None:  # noqa: ARG002  (sounddevice's signature)
        """Hand over the next piece from PortAudio's thread; the lock is held by others only for three assignments."""
        now_mono_ns = self._called_mono_ns = time.monotonic_ns()
        with self._lock:
            piece = self._waiting[self._at : self._at + len(out)]
            if piece and self._at == 0:
                ahead_s = times.outputBufferDacTime - times.currentTime if times.outputBufferDacTime else 0.0
                self._begins_mono_ns = now_mono_ns + round(max(0.0, ahead_s) * _NANO)
            self._at += len(piece)
            ended = bool(self._waiting) and self._at >= len(self._waiting)
            if ended:
                self._waiting = b""
        out[: len(piece)] = piece
        out[len(piece) :] = bytes(len(out) - len(piece))
        if ended:
            self._done.set()
