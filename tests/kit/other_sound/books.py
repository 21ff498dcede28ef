"""Prose read aloud: passages of novels, from the package r-cran-janeaustenr.

The novels of Jane Austen (died 1817) are in the public domain; the package is under the MIT licence. A group has its
own novels, so that no sentence is in both.
"""

from __future__ import annotations

import random
import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from other_sound.packages import unpacked

PACKAGE = "r-cran-janeaustenr"
_TEXTS = Path("usr/lib/R/site-library/janeaustenr/data/Rdata.rdb")
NOVELS = {
    "tuning": ("NORTHANGER ABBEY", "SENSE AND SENSIBILITY"),
    "report": ("PRIDE AND PREJUDICE", "EMMA", "PERSUASION", "MANSFIELD PARK"),
}
"""First lines of the novels, by group."""

_PASSAGE_WORDS = 150
"""About a minute; then another voice reads from elsewhere."""
_LONGEST = 300
"""Characters read without a stop; Jane Austen's sentences may go on for a page."""
_SHORT_FORMS = re.compile(r"\b(Mr|Mrs|Dr|St|Esq)\.")
_ENDS = re.compile(r"(?<=[.!?])[\"']?\s+(?=[\"'A-Z])")
_STRINGS, _NO_STRING = 16, 0xFFFF_FFFF


@dataclass(frozen=True, slots=True)
class Passage:
    """Consecutive paragraphs of a novel, each a list of sentences."""

    paragraphs: tuple[tuple[str, ...], ...]


def passages(group: str, seed: int) -> Iterator[Passage]:
    """Yield passages of a group's novels in random order, from random places; none begins where another did."""
    rng = random.Random(f"other sound books {seed}")
    starts = [(novel, first) for novel in NOVELS[group] for first in range(0, len(_novels()[novel]) - 20, 20)]
    rng.shuffle(starts)
    for novel, first in starts:
        chosen: list[tuple[str, ...]] = []
        for paragraph in _novels()[novel][first : first + 20]:
            chosen.append(sentences(paragraph))
            if sum(len(each.split()) for part in chosen for each in part) >= _PASSAGE_WORDS:
                break
        yield Passage(tuple(chosen))


def sentences(paragraph: str) -> tuple[str, ...]:
    """Return a paragraph's sentences as a synthesiser reads them; long ones end at semicolons too."""
    plain = _SHORT_FORMS.sub(r"\1", paragraph).replace("_", "").replace("--", ", ")
    found: list[str] = []
    for sentence in _ENDS.split(plain):
        found += re.split(r"(?<=;)\s", sentence) if len(sentence) > _LONGEST else [sentence]
    return tuple(each.strip(" \"'") for each in found if re.search(r"[A-Za-z]{2}", each))


@cache
def _novels() -> dict[str, tuple[str, ...]]:
    """Return the paragraphs of each novel, by its first line in capitals."""
    content = (unpacked(PACKAGE) / _TEXTS).read_bytes()
    novels = {}
    while content:
        # Each object: four bytes of length, then zlib's stream, whose end tells where the next begins.
        stream = zlib.decompressobj()
        lines = strings(stream.decompress(content[4:]))
        novels[lines[0].upper()] = _paragraphs(lines)
        content = stream.unused_data
    return novels


def strings(serialised: bytes) -> list[str]:
    """Return the strings of a character vector as R writes one (format X, version 3; from R Internals, section 1.8).

    Raises:
        ValueError: it is something else.
    """
    if serialised[:6] != b"X\n\0\0\0\3":
        raise ValueError("this is no object as R writes it")
    at = 18 + int.from_bytes(serialised[14:18])
    kind, count = (int.from_bytes(serialised[at + n : at + n + 4]) for n in (0, 4))
    if kind != _STRINGS:
        raise ValueError("this is no plain character vector")
    at += 8
    found = []
    for _ in range(count):
        size = int.from_bytes(serialised[at + 4 : at + 8])
        at += 8
        size = 0 if size == _NO_STRING else size
        found.append(serialised[at : at + size].decode())
        at += size
    return found


def _paragraphs(lines: list[str]) -> tuple[str, ...]:
    """Return what lies between empty lines, without titles and headings of chapters."""
    blocks = " ".join(line.strip() or "\n" for line in lines).split("\n")
    return tuple(block.strip() for block in blocks if re.search(r"[a-z].*[.!?;,][\"']?\s*$", block))
