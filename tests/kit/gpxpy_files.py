"""Real tracks from gpxpy's source distribution (Apache-2.0), which its wheel leaves out."""

from __future__ import annotations

import tarfile
from pathlib import Path

from from_index import distribution

VERSION = "1.6.2"


def gpxpy_file(name: str, into: Path) -> Path:
    """Return the path of a copy, in the folder `into`, of one of the tracks gpxpy is tested with."""
    copy = into / name
    with tarfile.open(distribution("gpxpy", VERSION, source=True)) as archive:
        member = archive.extractfile(f"gpxpy-{VERSION}/test_files/{name}")
        assert member is not None
        copy.write_bytes(member.read())
    return copy
