"""People's recordings in the source distribution of PocketSphinx on PyPI: read prose and a few sentences, as other talk.

Five sentences of a novel read by one person (from LibriVox, public domain), and a few short recordings of others, among them
strings of digits and playing cards. None holds our lead word, so whatever is taken for a call is a false entry.
"""

from __future__ import annotations

import subprocess
import sys
import tarfile
import tempfile
import wave
from importlib import metadata
from pathlib import Path

import numpy as np
from speechkit import Samples
from speechkit.levels import to_samples, trimmed_to_level

_TEST_DATA = "test/data"
READ = tuple(
    f"librivox/sense_and_sensibility_01_austen_64kb-{number}.wav"
    for number in ("0870", "0880", "0890", "0920", "0930")
)
OTHERS = (
    *(f"cards/{number:03}.wav" for number in range(1, 6)),
    "goforward.raw",
    "numbers.raw",
    "something.raw",
    "tidigits/dhd.2934z.raw",
)
"""The `.raw` files are 16 kHz without a header."""


def fetched(folder: Path) -> Path:
    """Return where the recordings lie, fetched from PyPI the first time by pip.

    Raises:
        subprocess.CalledProcessError: pip cannot fetch it.
    """
    version = metadata.version("pocketsphinx")
    place = folder / f"pocketsphinx-{version}"
    if not place.is_dir():
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder) as scratch:
            command = [
                sys.executable,
                "-m",
                "pip",
                "download",
                "--quiet",
                "--no-deps",
                "--no-binary",
                "pocketsphinx",
            ]
            subprocess.run(
                [*command, "--dest", scratch, f"pocketsphinx=={version}"], check=True, stdout=sys.stderr
            )
            (archive,) = Path(scratch).glob("*.tar.gz")
            unpack(archive, Path(scratch) / "data")
            (Path(scratch) / "data").rename(place)
    return place


def unpack(archive: Path, folder: Path) -> None:
    """Write the recordings of a source distribution, and nothing else of it, into a new folder."""
    with tarfile.open(archive) as opened:
        root = opened.getnames()[0].split("/")[0]
        for name in (*READ, *OTHERS):
            member = opened.extractfile(f"{root}/{_TEST_DATA}/{name}")
            assert member is not None
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(member.read())


def recording(place: Path, name: str) -> Samples:
    """Return one recording from its first to its last sound, at the kit's usual level."""
    path = place / name
    if path.suffix == ".raw":
        content = path.read_bytes()
    else:
        with wave.open(str(path)) as opened:
            assert opened.getframerate() == 16_000
            content = opened.readframes(opened.getnframes())
    return to_samples(trimmed_to_level(np.frombuffer(content, "<i2").astype(np.float64)))
