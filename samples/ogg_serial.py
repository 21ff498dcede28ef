"""Give an Ogg file a stream serial number of our choice, so that the same sound makes the same bytes.

libsndfile draws the number at random. Page layout and checksum: RFC 3533, section 6.
"""

from __future__ import annotations

import struct
from pathlib import Path

_HEADER = 27
_SERIAL_AT, _CHECKSUM_AT, _SEGMENTS_AT = 14, 22, 26
_POLYNOMIAL = 0x04C11DB7


def set_serial(path: Path, serial: int) -> None:
    """Write `serial` into every page of a file with one Ogg stream, and make the pages' checksums right.

    Raises:
        ValueError: the file is no sequence of Ogg pages.
    """
    data = bytearray(path.read_bytes())
    at = 0
    while at < len(data):
        if data[at : at + 4] != b"OggS":
            raise ValueError(f"{path}: no Ogg page at byte {at}")
        segments = data[at + _SEGMENTS_AT]
        lengths = data[at + _HEADER : at + _HEADER + segments]
        end = at + _HEADER + segments + sum(lengths)
        struct.pack_into("<I", data, at + _SERIAL_AT, serial)
        struct.pack_into("<I", data, at + _CHECKSUM_AT, 0)
        struct.pack_into("<I", data, at + _CHECKSUM_AT, checksum(data[at:end]))
        at = end
    path.write_bytes(data)


def checksum(page: bytes | bytearray) -> int:
    """Return a page's CRC-32 (polynomial 0x04c11db7, not reflected, starting at 0), its own field being 0."""
    crc = 0
    for byte in page:
        crc = ((crc << 8) & 0xFFFFFFFF) ^ _TABLE[(crc >> 24) ^ byte]
    return crc


def _entry(byte: int) -> int:
    crc = byte << 24
    for _ in range(8):
        crc = (crc << 1) ^ (_POLYNOMIAL if crc & 0x80000000 else 0)
    return crc & 0xFFFFFFFF


_TABLE = tuple(_entry(byte) for byte in range(256))
