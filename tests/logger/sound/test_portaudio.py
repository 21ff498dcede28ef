"""Devices by name, on a real sound server with some devices of our own naming; and what is said without PortAudio."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest
from sound_server import Feed, SoundServer

from logger.errors import SoundError
from logger.sound.microphone import Microphone
from logger.sound.portaudio import LIMIT_S, devices, find_device, limited, look_again
from logger.sound.speaker import Speaker

REPOSITORY = Path(__file__).resolve().parents[3]
NAMED = """
pcm.visor { type pulse
 device visor }
pcm.visor_rear { type pulse
 device visor }
"""
"""Devices as a person names them for ALSA."""

WITHOUT_PORTAUDIO = """
import ctypes.util, sys
ctypes.util.find_library = lambda name: None
from logger.errors import SoundError
from logger.sound.portaudio import library
try:
    library()
except SoundError as error:
    sys.exit(str(error))
"""

KEEPING = """
import os, sys
from logger.sound.portaudio import stderr_kept
print("before", file=sys.stderr)
with stderr_kept():
    os.write(2, b"noise")
    print("ours", file=sys.stderr)
os.write(2, b"after")
"""


def test_devices_are_found_by_name(server: SoundServer) -> None:
    """The whole name goes before a part, case does not matter, a part will do, and what fits two is refused."""
    (server.folder / ".asoundrc").write_text(NAMED, encoding="ascii")
    look_again()

    assert {"visor", "visor_rear", "default"} <= {device.name for device in devices("input")}
    assert "default" == devices("input")[0].name == find_device("input", None).name
    assert "visor" == find_device("input", "Visor").name
    assert "visor_rear" == find_device("input", "rear").name
    with pytest.raises(SoundError, match=r"more than one microphone has 'viso' .*'visor', 'visor_rear'"):
        find_device("input", "viso")
    with pytest.raises(
        SoundError, match=r"no microphone has 'dash' in its name; there are: 'default', .*'visor'"
    ):
        find_device("input", "dash")


def test_a_server_that_comes_and_goes_is_seen(server: SoundServer) -> None:
    """Devices are looked for anew each time."""
    assert find_device("output", None).channels > 0
    server.kill()
    with pytest.raises(SoundError, match="no loudspeaker found; plug one in"):
        find_device("output", None)
    server.start()
    assert find_device("output", None).channels > 0


def test_a_server_that_hangs_is_told_and_found_again(server: SoundServer) -> None:
    """Whoever asks a hanging server waits for ever; here that is an error in time, at once for the next, and not for good."""
    with Feed(server, np.zeros(0, np.int16)):
        server.freeze()
        try:
            began_s = time.monotonic()
            with pytest.raises(SoundError, match="the sound server does not answer; restart it"):
                Microphone()
            assert LIMIT_S - 0.1 < time.monotonic() - began_s < LIMIT_S + 1.0
            with pytest.raises(SoundError, match="the sound server does not answer"):
                Speaker()
            assert time.monotonic() - began_s < LIMIT_S + 1.0
        finally:
            server.thaw()
        for _ in range(50):
            try:
                microphone = Microphone()
            except SoundError:
                time.sleep(0.1)
            else:
                break
        with microphone:
            assert microphone.read(3.0) is not None


def test_what_comes_back_too_late_is_disposed_of(monkeypatch: pytest.MonkeyPatch) -> None:
    """A stream that opens after nobody waits for it any more is closed again."""
    monkeypatch.setattr("logger.sound.portaudio.LIMIT_S", 0.05)
    released, disposed = threading.Event(), threading.Event()
    with pytest.raises(SoundError, match="does not answer"):
        limited(lambda: released.wait(5), lambda _: disposed.set())
    assert not disposed.is_set()
    released.set()

    assert disposed.wait(2)
    time.sleep(0.05)
    assert limited(lambda: 7) == 7
    with pytest.raises(ZeroDivisionError):
        limited(lambda: 1 // 0)


def test_a_missing_library_is_one_line() -> None:
    """Where the system finds no PortAudio, the person is told what to install; sounddevice itself raises the OSError."""
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT_PORTAUDIO],
        env=os.environ | {"PYTHONPATH": str(REPOSITORY)},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )

    assert done.returncode == 1
    assert ["sudo apt-get install libportaudio2"] == [
        line.split(": ")[-1] for line in done.stderr.splitlines()
    ]
    assert done.stderr.startswith("the PortAudio library is missing")


def test_libraries_cannot_write_over_ours(tmp_path: Path) -> None:
    """While stderr is kept, what a library writes to it is gone and what we say is there; afterwards all is as before."""
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            KEEPING,
        ],
        env=os.environ | {"PYTHONPATH": str(REPOSITORY)},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )

    assert "before\nours\nafter" == done.stderr
