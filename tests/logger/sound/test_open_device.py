"""What microphone and loudspeaker have in common: a device that opens but does not start, or does not open, is told and left."""

from __future__ import annotations

from functools import partial
from typing import Any

import pytest

from logger.errors import SoundError
from logger.model import RATE_HZ
from logger.sound import portaudio
from logger.sound.open_device import OpenDevice
from logger.sound.portaudio import SoundDevice, library


def opened(device: SoundDevice, *, closed_before_start: bool = False, rate_hz: float = RATE_HZ) -> Any:
    """A stream of a real device."""
    stream = library().RawInputStream(samplerate=rate_hz, channels=1, dtype="int16", device=device.index)
    if closed_before_start:
        stream.close()
    return stream


def open_streams() -> int:
    """How many streams count as open: while there are any, nobody looks for devices anew."""
    return portaudio._streams  # noqa: SLF001


class Opened(OpenDevice):
    """A microphone that nobody reads."""

    def __init__(self, **settings: Any) -> None:
        super().__init__("input", None, partial(opened, **settings), instead="take another one")
        self._start()


@pytest.mark.usefixtures("server")
def test_it_is_counted_until_it_is_closed() -> None:
    """Closing twice takes it away once."""
    before = open_streams()
    with Opened() as device:
        assert before + 1 == open_streams()
        assert "default" == device.device.name
        device.close()
    assert before == open_streams()


@pytest.mark.usefixtures("server")
@pytest.mark.parametrize("settings", [{"closed_before_start": True}, {"rate_hz": -1.0}])
def test_one_that_fails_is_told_and_left(settings: dict[str, Any]) -> None:
    """Whether it does not open or does not start: one line that says what to do, and nothing is left open."""
    before = open_streams()
    with pytest.raises(SoundError) as raised:
        Opened(**settings)

    assert str(raised.value).startswith("microphone 'default' cannot be opened (")
    assert str(raised.value).endswith("; end other programs that use it, or take another one")
    assert "\n" not in str(raised.value)
    assert before == open_streams()
    with Opened() as another:
        assert "default" == another.device.name
