"""Real tracks from gpxpy's source distribution (Apache-2.0), which its wheel leaves out.

Fetched once by pip into `.cache/` at the root of the repository, where git does not look. Each file can then be read
from the archive. A machine without pip's index fails loudly here: these tests are never skipped.
"""

from __future__ import annotations

import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

NAME = "gpxpy-1.6.2"

CACHE = Path(__file__).resolve().parents[2] / ".cache" / "gpxpy"


def gpxpy_file(name: str, into: Path) -> Path:
    """Return the path of a copy, in the folder `into`, of one of the tracks gpxpy is tested with."""
    copy = into / name
    with tarfile.open(_archive()) as archive:
        member = archive.extractfile(f"{NAME}/test_files/{name}")
        assert member is not None
        copy.write_bytes(member.read())
    return copy


def _archive() -> Path:
    """Return the source distribution, fetching it when it is not there yet."""
    archive = CACHE / f"{NAME}.tar.gz"
    if not archive.exists():
        CACHE.mkdir(parents=True, exist_ok=True)
        # Build isolation stays on: pip asks the package for its metadata, which needs setuptools.
        with tempfile.TemporaryDirectory(dir=CACHE) as folder:
            command = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check"]
            command += ["--no-deps", "--no-binary", "gpxpy", "--dest", folder, NAME.replace("-", "==")]
            done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
            assert done.returncode == 0, done.stderr
            # A rename is whole or not at all, also when two test runs fetch at once.
            (Path(folder) / archive.name).replace(archive)
    return archive
