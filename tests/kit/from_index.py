"""Distributions from pip's index of which only files are wanted, fetched once into `.cache/` at the root of the repository.

Git does not look there. A machine without pip's index fails loudly here: the tests that want them are never skipped.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

CACHE = Path(__file__).resolve().parents[2] / ".cache"


def distribution(name: str, version: str, *, source: bool) -> Path:
    """Return the path of a source distribution, or else of a wheel, fetching it when it is not there yet."""
    ending = ".tar.gz" if source else "-py3-none-any.whl"
    archive = CACHE / name / f"{name}-{version}{ending}"
    if not archive.exists():
        archive.parent.mkdir(parents=True, exist_ok=True)
        # Build isolation stays on: pip asks a source distribution for its metadata, which needs setuptools.
        with tempfile.TemporaryDirectory(dir=archive.parent) as folder:
            command = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check"]
            command += ["--no-deps", "--no-binary" if source else "--only-binary", name]
            command += ["--dest", folder, f"{name}=={version}"]
            done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
            assert done.returncode == 0, done.stderr
            # A rename is whole or not at all, also when two test runs fetch at once.
            (Path(folder) / archive.name).replace(archive)
    return archive
