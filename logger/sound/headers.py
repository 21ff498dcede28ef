"""What the first and last bytes of a sound file tell that libsndfile doesn't."""

from __future__ import annotations

import struct
from pathlib import Path

_FOREIGN = (
    (4, b"ftyp", "MPEG-4 sound (m4a, mp4, 3gp)"),
    (0, b"#!AMR", "AMR sound"),
    (0, b"\x1a\x45\xdf\xa3", "Matroska or WebM sound"),
    (0, b"\x30\x26\xb2\x75", "Windows Media sound"),
    (0, b"ID3", "MP3 sound"),
    (0, b"\xff\xfb", "MP3 sound"),
    (0, b"\xff\xf3", "MP3 sound"),
)
"""Offset, mark and name of what phones and cameras record and is not read here (marks: common practice).

libsndfile does read MP3, but its decoder writes thousands of lines to stderr for ordinary files of low bit rate.
"""
_UNWRITTEN = 0xFFFFFFFE
"""A size from here on is a stand-in for one that was not known when the header was written."""
_OGG_TAIL = 1 << 17
"""More than two of the largest Ogg pages (65,307 bytes each, RFC 3533)."""
_OGG_LAST_PAGE = 0x04


def foreign_kind(head: bytes) -> str | None:
    """Name the kind of sound that a file's first 16 bytes show, if it is known and not supported."""
    for offset, mark, name in _FOREIGN:
        if head[offset : offset + len(mark)] == mark:
            return name
    return None


def is_cut_off(path: Path) -> bool:
    """Whether a file is shorter than its own header says, or an Ogg stream lacks its last page.

    libsndfile shortens a WAV file without a word, and takes an Ogg stream to end wherever it ends.
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(40)
        if head.startswith(b"OggS"):
            file.seek(max(0, size - _OGG_TAIL))
            return not _has_last_page(file.read())
    promised = _promised_size(head)
    return promised is not None and size + 1 < promised  # a missing pad byte is nothing


def _promised_size(head: bytes) -> int | None:
    if head.startswith(b"RIFF"):
        (size,) = struct.unpack_from("<I", head, 4)
        return 8 + size if size < _UNWRITTEN else None
    if head.startswith(b"FORM"):
        (size,) = struct.unpack_from(">I", head, 4)
        return 8 + size if size < _UNWRITTEN else None
    if head.startswith(b"RF64") and head[12:16] == b"ds64":
        return 8 + int(struct.unpack_from("<Q", head, 20)[0])
    if head.startswith(b"riff\x2e\x91\xcf\x11"):
        return int(struct.unpack_from("<Q", head, 16)[0])
    return None


def _has_last_page(tail: bytes) -> bool:
    """Whether the last page that begins in the tail is marked as the last of its stream and complete."""
    at = tail.rfind(b"OggS")
    if at < 0 or at + 27 > len(tail) or not tail[at + 5] & _OGG_LAST_PAGE:
        return False
    segments = tail[at + 26]
    lengths = tail[at + 27 : at + 27 + segments]
    return len(lengths) == segments and at + 27 + segments + sum(lengths) <= len(tail)
