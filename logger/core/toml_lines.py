"""On which line of a TOML text a key stands: the standard parser tells no lines, and people need them."""

from __future__ import annotations

import re

_HEADER = re.compile(r"^\s*\[+\s*([^\]#]+?)\s*\]+\s*(?:#.*)?$")
_KEY = re.compile(
    r"""^\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*="""
)


def line_of_key(text: str, path: tuple[str, ...]) -> int | None:
    """Return the line (from 1) on which a key is set or its table opened; None when it isn't there as such.

    Understands headers, dotted keys and keys inside a one-line table; the nearest parent's line is returned
    for a key that stands inside a value.

    >>> line_of_key('lead = "mark"', ("lead",))
    1
    """
    best: tuple[int, int] | None = None
    table: tuple[str, ...] = ()
    for number, line in enumerate(text.splitlines(), start=1):
        header = _HEADER.match(line)
        key = _KEY.match(line)
        if header:
            table = _parts(header.group(1))
            here = table
        elif key:
            here = table + _parts(key.group(1))
        else:
            continue
        if path[: len(here)] == here and (best is None or len(here) > best[0]):
            best = (len(here), number)
    return best[1] if best else None


def _parts(dotted: str) -> tuple[str, ...]:
    return tuple(part.strip().strip("\"'") for part in dotted.split("."))
