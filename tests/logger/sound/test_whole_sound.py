"""The sound of a whole drive on disk, whatever happens while it is written."""

from __future__ import annotations

import signal
import stat
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from logger.errors import SoundError, StoreError
from logger.model import RATE_HZ, Samples
from logger.sound.files import SoundFile
from logger.sound.whole_sound import FILE_S, WholeSound, leftover, open_file_samples, pack, sound_files

BLOCK = RATE_HZ // 20


def noise(seconds: float, seed: int = 1) -> Samples:
    """Sound that no two places of are alike."""
    return np.random.default_rng(seed).integers(-3000, 3000, round(seconds * RATE_HZ), np.int16)


def add(whole: WholeSound, sound: Samples, first_sample: int = 0) -> None:
    """Add it in blocks."""
    for at in range(0, len(sound), BLOCK):
        whole.add(first_sample + at, sound[at : at + BLOCK])


def read(path: Path) -> Samples:
    """What another program reads."""
    samples, rate_hz = soundfile.read(path, dtype="int16")
    assert RATE_HZ == rate_hz
    return samples


def test_a_minute_becomes_flac(tmp_path: Path) -> None:
    """After 60 s a file is FLAC and the next one is open; at the end that is FLAC too; sample for sample, for the owner only."""
    sound = noise(70)
    whole = WholeSound(tmp_path, 7)
    add(whole, sound)
    names = sorted(path.name for path in (tmp_path / "sound").iterdir())
    whole.close()

    second = round(FILE_S * RATE_HZ)
    assert ["007-0000000000.flac", f"007-{second:010d}.wav"] == names
    assert (0, second) == tuple(first for first, _ in sound_files(tmp_path, 7))
    assert () == sound_files(tmp_path, 8)
    assert sound.tolist() == np.concatenate([read(path) for _, path in sound_files(tmp_path, 7)]).tolist()
    modes = {stat.S_IMODE(path.stat().st_mode) for path in (tmp_path / "sound").iterdir()}
    assert ({0o600}, 0o700) == (modes, stat.S_IMODE((tmp_path / "sound").stat().st_mode))


def test_after_lost_samples_a_new_file_begins(tmp_path: Path) -> None:
    """So that a file's name and a sample's number in it are its number in the source."""
    whole = WholeSound(tmp_path, 1)
    add(whole, noise(1))
    add(whole, noise(1, seed=2), first_sample=5 * RATE_HZ)
    whole.close()

    assert (0, 5 * RATE_HZ) == tuple(first for first, _ in sound_files(tmp_path, 1))


KILLED = """
import os, signal, sys
from pathlib import Path
import numpy as np
from logger.sound.whole_sound import WholeSound
whole = WholeSound(Path(sys.argv[1]), 1)
sound = np.random.default_rng(1).integers(-3000, 3000, 16000 * 3, np.int16)
for at in range(0, len(sound), 800):
    whole.add(at, sound[at : at + 800])
os.kill(os.getpid(), signal.SIGKILL)
"""


def test_killed_all_of_it_is_there_and_can_be_played(tmp_path: Path) -> None:
    """SIGKILL right after a block was added: it is on disk, in a file that other programs and `ingest` read, and is packed later."""
    done = subprocess.run([sys.executable, "-c", KILLED, str(tmp_path)], check=False)
    expected = noise(3)
    (path,) = leftover(tmp_path)

    assert -signal.SIGKILL == done.returncode
    assert expected.tolist() == read(path).tolist() == open_file_samples(path).tolist()
    assert expected.tolist() == np.concatenate([block.samples for block in SoundFile(path)]).tolist()
    packed = pack(path)
    assert packed is not None
    assert expected.tolist() == read(packed).tolist()
    assert not path.exists()


def test_cut_off_in_the_middle_of_a_sample_or_of_the_header(tmp_path: Path) -> None:
    """Half a sample at the end is left out; a file without any sound is removed; one that is packed already is not packed again."""
    whole = WholeSound(tmp_path, 1)
    whole.add(0, noise(1))
    (path,) = leftover(tmp_path)
    with path.open("ab") as file:
        file.write(b"\x01")
    empty = path.with_name("001-0000099999.wav")
    empty.write_bytes(b"RIFF")

    assert RATE_HZ == len(open_file_samples(path))
    assert pack(empty) is None
    assert not empty.exists()
    packed = pack(path)
    assert packed is not None
    before = packed.read_bytes()
    path.write_bytes(b"".ljust(5000, b"\x01"))
    assert packed == pack(path)
    assert before == packed.read_bytes()
    with pytest.raises(SoundError, match="cannot be read"):
        pack(path)


FULL = """
import resource, signal, sys
from pathlib import Path
import numpy as np
from logger.errors import StoreError
from logger.sound.whole_sound import WholeSound
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (50_000, resource.RLIM_INFINITY))
whole = WholeSound(Path(sys.argv[1]), 1)
sound = np.random.default_rng(1).integers(-3000, 3000, 16000 * 3, np.int16)
try:
    for at in range(0, len(sound), 800):
        whole.add(at, sound[at : at + 800])
except StoreError as error:
    print(error)
"""


def test_no_room(tmp_path: Path) -> None:
    """Where the disk takes no more, one line says so, and what was added before stays."""
    done = subprocess.run(
        [sys.executable, "-c", FULL, str(tmp_path)], check=True, capture_output=True, text=True
    )

    assert "cannot be written (File too large); free some space or choose another folder" in done.stdout
    (path,) = leftover(tmp_path)
    kept = read(path)
    assert len(kept) > RATE_HZ
    assert noise(3)[: len(kept)].tolist() == kept.tolist()


def test_no_folder(tmp_path: Path) -> None:
    """Something else is in the place of the folder."""
    (tmp_path / "sound").write_bytes(b"")
    with pytest.raises(StoreError, match="cannot be written"):
        WholeSound(tmp_path, 1).add(0, noise(1))
