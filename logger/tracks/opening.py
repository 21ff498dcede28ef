"""What all readers of track files share: getting the bytes, decoding them, and judging what was read."""

from __future__ import annotations

import math
from pathlib import Path

from logger.core.fixes import in_our_time
from logger.errors import TrackError
from logger.model import Fix, Issue, TrackFile

_BYTE_ORDER_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)


def read_bytes(path: Path) -> bytes:
    """Return the content of a track file.

    Raises:
        TrackError: the file is missing, a directory, not readable or empty.
    """
    try:
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise TrackError(f"{path}: no such track file; check the path") from error
    except IsADirectoryError as error:
        raise TrackError(f"{path}: is a directory; name the track file inside it") from error
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise TrackError(f"{path}: cannot be read ({reason}); check the file and its permissions") from error
    if not content.strip():
        raise TrackError(f"{path}: is empty; record the track again or name another file")
    return content


def decoded(content: bytes) -> str:
    """Return text from bytes: by their byte order mark, else UTF-8, with a mark in place of what is not UTF-8."""
    for mark, encoding in _BYTE_ORDER_MARKS:
        if content.startswith(mark):
            return content.decode(encoding, errors="replace")
    return content.decode("utf-8", errors="replace")


def finite(value: float | None) -> float | None:
    """Return the value, None for what is no finite number."""
    return value if value is not None and math.isfinite(value) else None


def track_file(path: Path, fixes: list[Fix], issues: list[Issue]) -> TrackFile:
    """Return what was read.

    Raises:
        TrackError: nothing in the file was a fix; what was odd about it says why.
    """
    usable, time_issues = in_our_time(fixes)
    issues = [*issues, *time_issues]
    if not usable:
        why = f" ({'; '.join(issue.message for issue in issues)})" if issues else ""
        raise TrackError(f"{path}: holds no usable fix{why}; name a track recorded on the drive")
    return TrackFile(fixes=usable, issues=tuple(issues))
