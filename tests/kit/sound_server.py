"""A real PulseAudio server of our own, on a machine without a sound card: a microphone fed from here.

A second room has a loudspeaker that the microphone hears. A null sink and its monitor would be simpler, but for some
seconds after either is opened PulseAudio says wrongly, by half a second, how old the monitor's samples are.
"""

from __future__ import annotations

import fcntl
import os
import shutil
import signal
import subprocess
import tempfile
import threading
import time
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 16_000
CHUNK_SAMPLES = RATE_HZ // 100
STORE_CHUNKS = 4
MICROPHONE = "Visor"
"""What the microphone is called: the description of its source."""


class SoundServer:
    """A sound server with its own folder; `environment` is what a program needs to find it.

    Args:
        room: the microphone hears what is played, as long as a `Feed` with the loudspeaker carries it there; without
            it, what is played is heard by nobody.
    """

    def __init__(self, *, room: bool = False) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="odovox-sound-"))
        self.fifo = self.folder / "microphone"
        self.loudspeaker = self.folder / "loudspeaker"
        run = self.folder / "run"
        (run / "pulse").mkdir(parents=True, mode=0o700)
        run.chmod(0o700)
        (self.folder / "state").mkdir(mode=0o700)
        self._script = self.folder / "default.pa"
        socket = run / "pulse" / "native"
        lines = [f"load-module module-native-protocol-unix auth-anonymous=1 socket={socket}"]
        where = f"file={self.fifo} format=s16le rate=16000 channels=1"
        lines.append(
            f"load-module module-pipe-source source_name=visor {where} source_properties=device.description={MICROPHONE}"
        )
        lines.append(
            f"load-module module-pipe-sink sink_name=room file={self.loudspeaker} format=s16le rate=16000 channels=1"
            if room
            else "load-module module-null-sink sink_name=elsewhere rate=16000 channels=1"
        )
        lines.append("set-default-source visor")
        self._script.write_text("\n".join(lines) + "\n", encoding="ascii")
        self.environment = {
            "HOME": str(self.folder),
            "XDG_RUNTIME_DIR": str(run),
            "PULSE_RUNTIME_PATH": str(run / "pulse"),
            "PULSE_STATE_PATH": str(self.folder / "state"),
            "PULSE_COOKIE": str(self.folder / "cookie"),
            "PULSE_SERVER": f"unix:{socket}",
        }
        self._process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.kill()
        shutil.rmtree(self.folder, ignore_errors=True)

    def start(self) -> None:
        """Start it, and return when it answers."""
        self._process = subprocess.Popen(
            [
                "pulseaudio", "-n", "-F", str(self._script), "--daemonize=no", "--exit-idle-time=-1",
                "--use-pid-file=no", "--disable-shm=yes", "--realtime=no", "--high-priority=no",
            ],
            env=os.environ | self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        for _ in range(100):
            if self.ask("info").returncode == 0:
                return
            time.sleep(0.05)
        raise RuntimeError("the sound server does not answer")

    def kill(self) -> None:
        """End it at once, as a crash would."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None
            for pipe in (self.fifo, self.loudspeaker):
                pipe.unlink(missing_ok=True)  # or the next one refuses to make it

    def freeze(self) -> None:
        """Let it hang."""
        assert self._process is not None
        self._process.send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        """Let it go on."""
        assert self._process is not None
        self._process.send_signal(signal.SIGCONT)

    def ask(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        """Run `pactl` on it."""
        return subprocess.run(
            ["pactl", *arguments],
            env=os.environ | self.environment,
            capture_output=True,
            text=True,
            check=False,
            timeout=10,
        )


class Feed(threading.Thread):
    """Writes sound into the microphone on a schedule: sample n goes in n / 16 000 s after `began_ns`, give or take 10 ms.

    After the sound comes faint noise, until the feed is stopped.

    Args:
        server: whose microphone is fed.
        sound: what is heard first.
        room: what is played is heard too.
    """

    def __init__(self, server: SoundServer, sound: NDArray[np.int16], *, room: bool = False) -> None:
        super().__init__(daemon=True)
        self._fifo = server.fifo
        self._said = (0, sound)
        self._next = 0
        self._loudspeaker = server.loudspeaker if room else None
        self._ending = threading.Event()
        self._feeding = threading.Event()
        self._waiting = bytearray()
        self._storing = True
        self.began_ns = 0
        self._played_at_s = float("-inf")

    def __enter__(self) -> Self:
        self.start()
        assert self._feeding.wait(5)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.end()

    def say(self, sound: NDArray[np.int16]) -> float:
        """Let a sound be heard from now on, in the place of what was to be heard; return its monotonic second."""
        at = self._next + 2 * CHUNK_SAMPLES  # the one that is being made now is settled
        self._said = (at, sound)
        return self.began_ns / 1e9 + at / RATE_HZ

    def wait_for_silence(self, least_s: float, within_s: float = 60.0) -> None:
        """Wait until for some seconds from now on nothing is played."""
        began_s = time.monotonic()
        while time.monotonic() < began_s + within_s:
            if max(began_s, self._played_at_s) < time.monotonic() - least_s:
                return
            time.sleep(0.02)
        raise AssertionError(f"the loudspeaker was not silent in {within_s} s")

    def end(self) -> None:
        """Stop feeding."""
        self._ending.set()
        self.join(5)

    def run(self) -> None:
        """Write 10 ms when their time has come."""
        noise = np.random.default_rng(3).normal(0, 30, RATE_HZ).astype(np.int16)
        pipe = os.open(self._fifo, os.O_RDWR | os.O_NONBLOCK)
        played = self._opened_loudspeaker()
        try:
            self.began_ns = time.monotonic_ns()
            self._feeding.set()
            at = 0
            while not self._ending.is_set():
                self._next = at
                first, sound = self._said
                chunk = sound[at - first : at - first + CHUNK_SAMPLES] if at >= first else sound[:0]
                if len(chunk) < CHUNK_SAMPLES:
                    begin = at % (RATE_HZ - CHUNK_SAMPLES)
                    chunk = np.concatenate((chunk, noise[begin : begin + CHUNK_SAMPLES - len(chunk)]))
                due_ns = self.began_ns + (at + CHUNK_SAMPLES) * 1_000_000_000 // RATE_HZ
                if (wait_ns := due_ns - time.monotonic_ns()) > 0:
                    time.sleep(wait_ns / 1e9)
                if played is not None:
                    chunk = self._with_played(chunk, played)
                with suppress(BlockingIOError):  # nobody reads: a microphone does not wait either
                    os.write(pipe, chunk.tobytes())
                at += CHUNK_SAMPLES
        finally:
            os.close(pipe)
            if played is not None:
                os.close(played)

    def _opened_loudspeaker(self) -> int | None:
        if self._loudspeaker is None:
            return None
        pipe = os.open(self._loudspeaker, os.O_RDONLY | os.O_NONBLOCK)
        fcntl.fcntl(pipe, fcntl.F_SETPIPE_SZ, 4096)  # an eighth of a second waits in it, not two
        return pipe

    def _with_played(self, chunk: NDArray[np.int16], played: int) -> NDArray[np.int16]:
        """A chunk with what has been played meanwhile."""
        with suppress(BlockingIOError):
            # What is taken out is the loudspeaker's clock, so no more than is played; and the server writes in lumps, so
            # without a store there would be gaps.
            self._waiting += os.read(played, max(1, STORE_CHUNKS * chunk.nbytes - len(self._waiting)))
        # A store that has run empty fills first, or each lump that is late would make many small gaps of one.
        self._storing = len(self._waiting) < (STORE_CHUNKS if self._storing else 1) * chunk.nbytes
        if self._storing:
            return chunk
        heard = np.frombuffer(bytes(self._waiting[: chunk.nbytes]), np.int16)
        del self._waiting[: chunk.nbytes]
        if heard.any():
            self._played_at_s = time.monotonic()
        return np.clip(chunk.astype(np.int32) + heard, -32768, 32767).astype(np.int16)
