"""What is read and played: files of Debian packages, unpacked beside the checkout and never installed."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

from other_sound import FOLDER


def unpacked(package: str) -> Path:
    """Return the folder with a Debian package's files, fetched the first time.

    Only its files are wanted: installing the package would bring a game or a statistics system with it.

    Raises:
        subprocess.CalledProcessError: apt does not know the package, or cannot fetch it.
    """
    folder = FOLDER / "debian" / package
    if folder.is_dir():
        return folder
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder.parent) as scratch:
        subprocess.run(
            ["apt-get", "download", "--quiet", package], cwd=scratch, check=True, capture_output=True
        )
        (archive,) = Path(scratch).glob("*.deb")
        files = Path(scratch) / "files"
        subprocess.run(["dpkg-deb", "--extract", str(archive), str(files)], check=True)
        files.rename(folder)
    return folder
