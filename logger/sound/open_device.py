"""A device with an open stream: what a microphone and a loudspeaker have in common."""

from __future__ import annotations

import threading
from collections.abc import Callable
from functools import partial
from types import TracebackType
from typing import Any, Self

from logger.errors import SoundError
from logger.sound.portaudio import (
    KIND,
    Direction,
    SoundDevice,
    close_stream,
    find_device,
    library,
    limited,
    opening,
    stream_closed,
    stream_opened,
)


class OpenDevice:
    """A device of which a stream is open; use it in `with`. It gives or takes sound from `_start` on.

    Args:
        direction: which kind of device.
        name: the device's name or a part of it; None for the default one.
        opened: opens a stream of the device that was found, within a time limit.
        instead: what to do where it cannot be opened and no other program uses it.

    Raises:
        SoundError: there is no such device, it cannot be opened, or PortAudio is not installed.
    """

    def __init__(
        self, direction: Direction, name: str | None, opened: Callable[[SoundDevice], Any], *, instead: str
    ) -> None:
        self._direction, self._instead = direction, instead
        self._ended = threading.Event()
        self._closed = False
        sounddevice = library()
        with opening:
            self.device = find_device(direction, name)
            try:
                self._stream = opened(self.device)
            except (sounddevice.PortAudioError, ValueError) as error:
                raise self._unopened(error) from error
            stream_opened()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close it, whatever it does; closing twice is fine."""
        if self._closed:
            return
        self._closed = True
        try:
            close_stream(self._stream)
        finally:
            stream_closed()

    def _stream_of(
        self,
        device: SoundDevice,
        callback: Callable[..., None],
        *,
        rate_hz: int,
        channels: int,
        latency: str,
        block_s: float,
    ) -> Any:
        """Open a stream of 16 bits that is handed on in blocks; `_ended` is set when it is over, whatever ends it."""
        sounddevice = library()
        kind = sounddevice.RawInputStream if self._direction == "input" else sounddevice.RawOutputStream
        return limited(
            partial(
                kind,
                samplerate=rate_hz,
                channels=channels,
                dtype="int16",
                device=device.index,
                latency=latency,
                blocksize=round(block_s * rate_hz),
                callback=callback,
                finished_callback=self._ended.set,
            ),
            close_stream,
        )

    def _start(self) -> None:
        try:
            limited(self._stream.start)
        except SoundError:
            self.close()
            raise
        except Exception as error:
            self.close()
            raise self._unopened(error) from error

    def _unopened(self, error: Exception) -> SoundError:
        detail = str(error.args[0]) if error.args else type(error).__name__
        return SoundError(
            f"{KIND[self._direction]} '{self.device.name}' cannot be opened ({' '.join(detail.split())}); end other programs that use it, "
            f"or {self._instead}"
        )
