"""Reads and writes the parameter files of a phonetically tied PocketSphinx model."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STREAMS = 3
DENSITIES = 128
SENONES = 5126
PHONES = 42
CEPSTRA = 13
WEIGHT_STEP = 1024 * np.log(1.0001)
"""Weights are kept as bytes: minus the logarithm to base 1.0001, in steps of 1024."""
_VARIANCE_FLOOR = 1e-4
"""The library's own `varfloor`."""


def read_gaussians(path: Path) -> Floats:
    """Return means or variances, shape (phones, streams, densities, cepstra)."""
    content = path.read_bytes()
    at = content.index(b"endhdr\n") + len(b"endhdr\n") + 4  # the header, then the byte-order mark
    shape = struct.unpack_from("<3i", content, at)
    lengths = struct.unpack_from(f"<{shape[1]}i", content, at + 12)
    start = at + 12 + 4 * shape[1] + 4
    count = int(np.prod(shape)) * lengths[0]
    return np.frombuffer(content, "<f4", count, start).reshape(*shape, lengths[0]).astype(np.float64)


def read_variances(path: Path) -> Floats:
    """Return variances, floored as the library floors them."""
    return np.maximum(read_gaussians(path), _VARIANCE_FLOOR)


def write_gaussians(path: Path, values: Floats) -> None:
    """Write means or variances, shape (phones, streams, densities, cepstra), without a checksum."""
    phones, streams, densities, length = values.shape
    head = b"s3\nversion 1.0\nsource cabin_model\n" + b" " * 6 + b"endhdr\n"
    sizes = struct.pack("<I3i", 0x11223344, phones, streams, densities)
    lengths = struct.pack(f"<{streams}ii", *[length] * streams, values.size)
    path.write_bytes(head + sizes + lengths + values.astype("<f4").tobytes())


def read_weights(path: Path) -> tuple[bytes, Floats]:
    """Return a weight file's head, to write it again, and the weights, shape (streams, densities, senones)."""
    content = path.read_bytes()
    at = len(content) - STREAMS * DENSITIES * SENONES
    steps = np.frombuffer(content, np.uint8, offset=at).reshape(STREAMS, DENSITIES, SENONES)
    weights = np.exp(-WEIGHT_STEP * steps.astype(np.float64))
    return content[:at], weights / weights.sum(axis=1, keepdims=True)


def write_weights(path: Path, head: bytes, weights: Floats) -> None:
    """Write weights, shape (streams, densities, senones), under a head read before."""
    steps = np.round(-np.log(np.maximum(weights, 1e-12)) / WEIGHT_STEP)
    path.write_bytes(head + np.clip(steps, 0, 255).astype(np.uint8).tobytes())


def phone_names(path: Path) -> list[str]:
    """Return the phones of a model definition file in the order of their Gaussians."""
    content = path.read_bytes()
    start = content.index(b"+NSN+\0")
    return [name.decode() for name in content[start:].split(b"\0")[:PHONES]]
