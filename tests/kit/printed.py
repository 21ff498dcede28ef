"""How a browser printed a page: by how much it made everything smaller to fit in what is too wide."""

from __future__ import annotations

import re
import zlib

_PIXEL_PT = 0.75
"""A CSS pixel is 1/96 of an inch, a point 1/72."""
_STREAM = re.compile(rb"stream\r?\n")
_SCALE = re.compile(rb"([\d.]+) 0 0 -?[\d.]+ [-\d.]+ [-\d.]+ cm")


def scales(pdf: bytes) -> set[float]:
    """Return by which factors the pages of a PDF made by Chromium are drawn: 1 where nothing was shrunk, in steps of a hundredth."""
    found = set()
    for begin in _STREAM.finditer(pdf):
        try:
            text = zlib.decompressobj().decompress(pdf[begin.end() :], 400)
        except zlib.error:
            continue
        # A page of Chromium begins with its scale to the paper, then that of what is on it.
        first = [float(each) for each in _SCALE.findall(text)[:2]]
        if len(first) == 2:
            found.add(round(first[0] * first[1] / _PIXEL_PT, 2))
    return found
