"""PortAudio, by way of sounddevice: its loading, its devices by name, and its two bad habits.

PortAudio looks for devices once, when it is initialised. What was plugged in since is seen only after it was ended and
begun anew, which kills every open stream; so that is done only while none is open here.

A call into it may never come back: where a sound server hangs, so does whoever asks it for anything. So each call has a
thread and a time limit (`limited`), and while one is still out no other is made. What it and ALSA write to stderr by
themselves is kept from the person (`quiet`, `stderr_kept`).
"""

from __future__ import annotations

import atexit
import os
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import Any, Literal, TypeVar

from logger.errors import SoundError

Direction = Literal["input", "output"]
KIND: dict[Direction, str] = {"input": "microphone", "output": "loudspeaker"}
_T = TypeVar("_T")

LIMIT_S = 4.0
"""Opening takes 40 ms here; a sound server that has to be started first takes a second or two."""

opening = threading.RLock()
"""Held from looking for a device until its stream is open, or another thread might look anew in between."""

_streams = 0
_out: threading.Thread | None = None
"""The call that has not come back."""


@dataclass(frozen=True, slots=True)
class SoundDevice:
    """A device that sound comes from or goes to. `index` holds until devices are looked for again."""

    index: int
    name: str
    channels: int
    rate_hz: int
    """What it works at if nobody asks for anything else."""


def limited(call: Callable[[], _T], dispose: Callable[[_T], object] | None = None) -> _T:
    """Return what a call into PortAudio returns, or raise what it raises.

    Args:
        call: what may never come back.
        dispose: takes what comes back too late.

    Raises:
        SoundError: it has not come back in time, or one before it has not come back yet.
    """
    global _out  # noqa: PLW0603  (PortAudio itself is one for the whole process)
    if _out is not None and _out.is_alive():
        raise _hanging()
    returned: list[_T] = []
    raised: list[BaseException] = []
    given_up = threading.Event()

    def run() -> None:
        try:
            returned.append(call())
        except BaseException as error:  # noqa: BLE001  (raised again below)
            raised.append(error)
        if given_up.is_set() and returned and dispose is not None:
            with suppress(Exception):
                dispose(returned.pop())

    thread = threading.Thread(target=run, daemon=True)
    with quiet():
        thread.start()
        thread.join(LIMIT_S)
    if thread.is_alive():
        given_up.set()
        _out = thread
        _do_not_wait_at_the_end()
        raise _hanging()
    if raised:
        raise raised[0]
    return returned[0]


def _hanging() -> SoundError:
    return SoundError(
        "the sound server does not answer; restart it (`systemctl --user restart pipewire pipewire-pulse`, or pulseaudio)"
    )


def _do_not_wait_at_the_end() -> None:
    """Keep sounddevice from ending PortAudio when Python ends: that would wait for the hanging call."""
    sounddevice = sys.modules.get("sounddevice")
    handler = getattr(sounddevice, "_exit_handler", None)
    if handler is not None:
        atexit.unregister(handler)


def library() -> Any:
    """Return the module sounddevice.

    Raises:
        SoundError: PortAudio is not installed, does not load, or the sound server hangs.
    """
    try:
        return limited(_import)
    except OSError as error:
        raise SoundError(
            "the PortAudio library is missing, so no microphone can be opened; install it: "
            "sudo apt-get install libportaudio2"
        ) from error
    except ImportError as error:
        raise SoundError(f"sounddevice cannot be loaded ({error}); install odovox again") from error


def _import() -> Any:
    import sounddevice

    return sounddevice


def look_again() -> None:
    """Let PortAudio look for devices anew, unless a stream is open here.

    Raises:
        SoundError: PortAudio is not installed, or the sound server hangs.
    """
    sounddevice = library()

    def look() -> None:
        # Private names, but sounddevice has no public ones for it, and says in its manual to use these.
        with suppress(sounddevice.PortAudioError):
            sounddevice._terminate()  # noqa: SLF001
        with suppress(sounddevice.PortAudioError):
            sounddevice._initialize()  # noqa: SLF001

    with opening:
        if not _streams:
            limited(look)


def stream_opened() -> None:
    """Count a stream, so that nobody looks for devices while it is open."""
    global _streams  # noqa: PLW0603
    with opening:
        _streams += 1


def stream_closed() -> None:
    """Count a stream no more."""
    global _streams  # noqa: PLW0603
    with opening:
        _streams -= 1


def close_stream(stream: Any) -> None:
    """Close a stream at once, whatever state it is in; one whose server hangs is left to itself."""

    def close() -> None:
        # abort, not stop: a stream whose server has gone has nothing left to play out.
        stream.abort(ignore_errors=True)
        stream.close(ignore_errors=True)

    with suppress(SoundError):
        limited(close)


def devices(direction: Direction) -> tuple[SoundDevice, ...]:
    """Return the devices of one direction that PortAudio has found, the default one first.

    Raises:
        SoundError: PortAudio is not installed.
    """
    sounddevice = library()
    try:
        found = list(sounddevice.query_devices())
        default = sounddevice.default.device[0 if direction == "input" else 1]
    except sounddevice.PortAudioError:
        return ()
    usable = [
        SoundDevice(
            index,
            str(each["name"]),
            int(each[f"max_{direction}_channels"]),
            round(each["default_samplerate"]),
        )
        for index, each in enumerate(found)
        if each[f"max_{direction}_channels"] > 0
    ]
    return tuple(sorted(usable, key=lambda device: device.index != default))


def find_device(direction: Direction, name: str | None) -> SoundDevice:
    """Look for devices, and return the one of that name or with that in its name; None means the default one.

    Case does not matter. A whole name goes before a part of one.

    Raises:
        SoundError: there is none, or more than one; the message lists what there is.
    """
    look_again()
    found = devices(direction)
    kind = KIND[direction]
    if not found:
        raise SoundError(
            f"no {kind} found; plug one in, and see that the sound server runs (`pactl info` or `arecord -l` tell)"
        )
    if name is None:
        return found[0]
    wanted = name.casefold()
    matching = [device for device in found if device.name.casefold() == wanted] or [
        device for device in found if wanted in device.name.casefold()
    ]
    if not matching:
        raise SoundError(f"no {kind} has '{name}' in its name; there are: {_listed(found)}")
    if len(matching) > 1 and len({device.name for device in matching}) > 1:
        raise SoundError(
            f"more than one {kind} has '{name}' in its name; say more of it: {_listed(matching)}"
        )
    return matching[0]


@contextmanager
def quiet() -> Iterator[None]:
    """Keep what ALSA and PortAudio write to stderr by themselves from the person: our own line says it better."""
    with suppress(OSError, ValueError, AttributeError):
        sys.stderr.flush()
    try:
        kept = os.dup(2)
    except OSError:  # stderr is closed
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)


@contextmanager
def stderr_kept() -> Iterator[None]:
    """Keep stderr for ourselves while sound is open.

    When a sound server dies, PortAudio's own thread writes about it at a moment of its choosing. So Python's stderr moves to
    a copy of the file, and what libraries write goes nowhere.
    """
    ours = sys.stderr
    try:
        usable = ours.fileno() == 2
    except (AttributeError, OSError, ValueError):
        usable = False
    if not usable:  # a test's or another program's stream: nothing of ours would be mixed up
        yield
        return
    ours.flush()
    copied = os.fdopen(os.dup(2), "w", encoding=ours.encoding, errors="backslashreplace", buffering=1)
    try:
        with quiet():
            sys.stderr = copied
            yield
    finally:
        sys.stderr = ours
        copied.close()


def _listed(found: tuple[SoundDevice, ...] | list[SoundDevice]) -> str:
    return ", ".join(f"'{device.name}'" for device in found)
