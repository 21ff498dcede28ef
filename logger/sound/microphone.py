"""A microphone that is always on: blocks of mono sound at `RATE_HZ`, each with the moment when it was heard.

How that moment is found: PortAudio tells each callback when the first sample was taken (`inputBufferAdcTime`) and what its
clock says now (`currentTime`). Their difference is how old the sample is; taken from the monotonic clock, read in
the same callback, it gives a stamp that no setting of the wall clock moves (PortAudio's own clock may be the wall
clock). Where a host gives no such time, the sample is as old as the block is long. The stamps jitter by some ms, so they
are smoothed by counting samples: see `logger.core.sample_clock`.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from functools import partial
from queue import Empty, SimpleQueue
from typing import Any, NamedTuple

import numpy as np

from logger.core.sample_clock import SampleClock
from logger.errors import SoundLostError
from logger.model import RATE_HZ, CapturedBlock, Samples
from logger.sound.open_device import OpenDevice
from logger.sound.portaudio import SoundDevice, library

BLOCK_S = 0.05
"""Short, since a read-back waits for the end of a block."""
FIRST_BLOCK_S = 3.0
"""A device that gives nothing for so long after opening never will. PulseAudio's first block took up to 1.7 s."""
STALL_S = 2.0
"""A device that was giving sound and gives none for so long is lost: unplugged ones may just go quiet."""
_OLDEST_S = 5.0
"""No host keeps sound for longer before it hands it over, so a stamp older than this is none."""
_RATES_HZ = (RATE_HZ, 48_000, 44_100)
_NANO = 1_000_000_000


class _Given(NamedTuple):
    """What a callback saw."""

    raw: bytes
    frames: int
    age_s: float
    """How long ago the first frame was taken, as PortAudio says."""
    now_mono_ns: int
    broken: bool
    """Frames were lost before this block."""


class Microphone(OpenDevice):
    """An open microphone; use it in `with`. One thread reads.

    Args:
        name: the device's name or a part of it; None for the default one.
        rates_hz: sampling rates to ask for, the first that the device gives counts. Other rates than `RATE_HZ` are
            resampled as sound files are.
        kept_s: how much sound waits for a reader that is late; what comes beyond it is dropped and counted.

    Raises:
        SoundError: there is no such device, it cannot be opened, or PortAudio is not installed.
    """

    def __init__(
        self, name: str | None = None, *, rates_hz: tuple[int, ...] = _RATES_HZ, kept_s: float = 60.0
    ) -> None:
        self.overflows = 0
        """How often samples were lost so far."""
        self.lost_samples = 0
        """How many, as far as the clock tells, at `RATE_HZ`."""
        self.stamped_by_device = True
        """Whether the host says when samples were taken; else their moment is taken from when they came."""
        self._queue: SimpleQueue[_Given] = SimpleQueue()
        self._most_waiting = max(1, round(kept_s / BLOCK_S))
        self._dropping = False
        self._frames_in = 0
        self._first_sample = 0
        self._heard_mono_ns: int | None = None
        super().__init__(
            "input", name, partial(self._opened, rates_hz), instead="name another one with --microphone"
        )
        self._clock = SampleClock(self.rate_hz, round(BLOCK_S * self.rate_hz))
        self._resampler = _resampler(self.rate_hz)
        self._start()
        self._began_mono_ns = time.monotonic_ns()

    def blocks(self) -> Iterator[CapturedBlock]:
        """Yield block after block for ever.

        Raises:
            SoundLostError: no more sound comes; close this one and open another.
        """
        while True:
            block = self.read(STALL_S)
            if block is not None:
                yield block

    def read(self, wait_s: float) -> CapturedBlock | None:
        """Return the next block, None if there is none within `wait_s`.

        Raises:
            SoundLostError: no more sound comes: the device has ended, or nothing has come for `STALL_S`
                (`FIRST_BLOCK_S` after opening). What was heard before is given out first.
        """
        deadline = time.monotonic() + wait_s
        while True:
            try:
                given = self._queue.get(timeout=max(0.0, min(0.1, deadline - time.monotonic())))
            except Empty:
                self._require_alive()
                if time.monotonic() >= deadline:
                    return None
                continue
            block = self._block(given)
            if len(block.samples):  # a resampler keeps the very first ones for a moment
                return block

    def _require_alive(self) -> None:
        name = self.device.name
        if self._closed:
            raise SoundLostError(f"microphone '{name}' is closed; open it again")
        if self._ended.is_set() and self._queue.empty():
            raise SoundLostError(
                f"microphone '{name}' has stopped: unplugged, or the sound server has ended; plug it in again"
            )
        last = self._heard_mono_ns
        limit_s = FIRST_BLOCK_S if last is None else STALL_S
        since_s = (time.monotonic_ns() - (last if last is not None else self._began_mono_ns)) / _NANO
        if since_s > limit_s:
            raise SoundLostError(
                f"microphone '{name}' is open but has given no sound for {since_s:.0f} s; plug it in again, or name another "
                "one with --microphone"
            )

    def _callback(self, data: Any, frames: int, times: Any, status: Any) -> None:
        """Take a block from PortAudio's thread. It may not wait, so it only copies, reads the clock and queues."""
        now_mono_ns = time.monotonic_ns()
        self._heard_mono_ns = now_mono_ns
        if self._queue.qsize() >= self._most_waiting:
            self._dropping = True
            return
        broken = self._dropping or bool(status.input_overflow)
        self._dropping = False
        age_s = times.currentTime - times.inputBufferAdcTime if times.inputBufferAdcTime else -1.0
        self._queue.put(_Given(bytes(data), frames, age_s, now_mono_ns, broken))

    def _block(self, given: _Given) -> CapturedBlock:
        age_ns = round(given.age_s * _NANO)
        if not 0.0 < given.age_s < _OLDEST_S:
            self.stamped_by_device = False
            age_ns = given.frames * _NANO // self.rate_hz
        placed = self._clock.place(given.frames, given.now_mono_ns - age_ns, broken=given.broken)
        lost = placed.lost_samples * RATE_HZ // self.rate_hz
        if lost or given.broken:
            self.overflows += 1
            self.lost_samples += lost
        samples = self._samples(given)
        # Sample n of the resampled sound was heard at n / RATE_HZ, as sample n of the device's at n / its rate; so
        # the block begins as much earlier than its newest samples as the resampler keeps back.
        behind_ns = self._behind_ns()
        block = CapturedBlock(self._first_sample, samples, placed.start_ns - behind_ns, lost)
        self._first_sample += len(samples)
        self._frames_in += given.frames
        return block

    def _behind_ns(self) -> int:
        """Return how far what was given out lags behind what came in, before the next block of either."""
        return self._frames_in * _NANO // self.rate_hz - self._first_sample * _NANO // RATE_HZ

    def _samples(self, given: _Given) -> Samples:
        samples: Samples = np.frombuffer(given.raw, np.int16)
        if self._channels > 1:
            mean = samples.reshape(-1, self._channels).mean(axis=1, dtype=np.float32)
            samples = np.rint(mean).astype(np.int16)
        if self._resampler is not None:
            samples = self._resampler.resample_chunk(samples)
        return samples

    def _opened(self, rates_hz: tuple[int, ...], device: SoundDevice) -> Any:
        """Return a stream, and keep its rate and channels: mono at the first rate that the device takes, else stereo."""
        sounddevice = library()
        refused: Exception | None = None
        for channels in (1, 2):
            for rate_hz in rates_hz:
                if channels > device.channels:
                    continue
                try:
                    # Room for a machine that is busy for a moment; what it delays, the stamps make good.
                    stream = self._stream_of(
                        device,
                        self._callback,
                        rate_hz=rate_hz,
                        channels=channels,
                        latency="high",
                        block_s=BLOCK_S,
                    )
                except (sounddevice.PortAudioError, ValueError) as error:
                    refused = error
                else:
                    self.rate_hz, self._channels = rate_hz, channels
                    return stream
        assert refused is not None
        raise refused


def _resampler(rate_hz: int) -> Any:
    if rate_hz == RATE_HZ:
        return None
    import soxr  # heavy

    return soxr.ResampleStream(rate_hz, RATE_HZ, 1, dtype="int16")
