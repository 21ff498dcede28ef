"""What became of all readings of many drives, counted."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field, fields
from typing import Self

from logger.model import Entry
from rehearsed.judging import Judged
from rehearsed.shares import interval

EDGES = (0.5, 0.9, 0.99, 0.999)
"""Where the bins of confidence begin, after the first."""


@dataclass(frozen=True, slots=True)
class Bin:
    """Entries of about the same confidence: how many, their confidences added, and how many are right."""

    count: int = 0
    confidence: float = 0.0
    right: int = 0

    def __add__(self, other: Self) -> Bin:
        return Bin(self.count + other.count, self.confidence + other.confidence, self.right + other.right)


@dataclass(frozen=True, slots=True)
class Bins:
    """Entries by confidence, one bin more than `EDGES` has."""

    bins: tuple[Bin, ...] = (Bin(),) * (len(EDGES) + 1)

    def __add__(self, other: Self) -> Bins:
        return Bins(tuple(one + two for one, two in zip(self.bins, other.bins, strict=True)))


@dataclass(frozen=True, slots=True)
class Tally:
    """Counts, which can be added up.

    Attributes:
        said: readings that were said and not withdrawn.
        first_wrong: of them, those that the recogniser's first answer did not have.
        accepted: entries accepted without a human, `accepted_of_nothing` among them.
        silent: of those, the ones that are not what was said; `silent_drives`: how many drives have any.
        repaired: readings accepted right whose first answer was wrong.
        flagged: readings said that a human is asked about; `flagged_first` and `flagged_three`: the truth is the
            likeliest suggestion, or among the first three.
        missing: readings said that no entry stands for.
        of_nothing: entries, notes aside, that nothing said stands behind.
        surprises: readings that break the ordinary course of a drive. They are asked about, kept as they were,
            replaced silently, or missing.
        processor_s: what reconciling alone took.
        bins: the entries that have a value, by confidence.
    """

    drives: int = 0
    calls: int = 0
    said: int = 0
    first_wrong: int = 0
    accepted: int = 0
    accepted_of_nothing: int = 0
    silent: int = 0
    silent_drives: int = 0
    repaired: int = 0
    flagged: int = 0
    flagged_first: int = 0
    flagged_three: int = 0
    missing: int = 0
    of_nothing: int = 0
    surprises: int = 0
    surprises_asked: int = 0
    surprises_kept: int = 0
    surprises_replaced: int = 0
    processor_s: float = 0.0
    bins: Bins = field(default_factory=Bins)

    def __add__(self, other: Self) -> Tally:
        return Tally(*(getattr(self, each.name) + getattr(other, each.name) for each in fields(self)))

    def as_json(self) -> dict[str, object]:
        """Return the counts, and the shares with their intervals (null where there is nothing to share)."""
        found: dict[str, object] = {
            each.name: getattr(self, each.name) for each in fields(self) if each.name != "bins"
        }
        found["shares"] = {
            name: None if not whole else {"share": part / whole, "interval": interval(part, whole)}
            for name, (part, whole) in self.shares().items()
        }
        found["calibration"] = [
            {
                "from": low,
                "count": each.count,
                "mean_confidence": each.confidence / each.count if each.count else None,
                "right": each.right,
                "interval": interval(each.right, each.count) if each.count else None,
            }
            for low, each in zip((0.0, *EDGES), self.bins.bins, strict=True)
        ]
        return found

    def shares(self) -> dict[str, tuple[int, int]]:
        """Return each figure as a part and its whole."""
        return {
            "silent errors of accepted": (self.silent, self.accepted),
            "drives with a silent error": (self.silent_drives, self.drives),
            "accepted of said": (self.accepted - self.accepted_of_nothing, self.said),
            "repaired of first wrong": (self.repaired, self.first_wrong),
            "flagged: first right": (self.flagged_first, self.flagged),
            "flagged: among first three": (self.flagged_three, self.flagged),
            "surprises asked about": (self.surprises_asked, self.surprises),
            "surprises kept": (self.surprises_kept, self.surprises),
            "surprises replaced": (self.surprises_replaced, self.surprises),
        }


def tally(judged: Iterable[Judged], calls: int, processor_s: float = 0.0) -> Tally:
    """Count one drive's readings."""
    every = list(judged)
    said = [each for each in every if each.said is not None]
    taken = [each for each in every if each.taken]
    flagged = [each for each in said if each.entry is not None and not each.taken]
    surprises = [each for each in said if each.said is not None and each.said.surprise]
    return Tally(
        drives=1,
        calls=calls,
        said=len(said),
        first_wrong=sum(not each.first_right for each in said),
        accepted=len(taken),
        accepted_of_nothing=sum(each.said is None for each in taken),
        silent=sum(each.silent_error for each in taken),
        silent_drives=int(any(each.silent_error for each in taken)),
        repaired=sum(each.right and not each.first_right for each in taken),
        flagged=len(flagged),
        flagged_first=sum(each.rank == 1 for each in flagged),
        flagged_three=sum(1 <= each.rank <= 3 for each in flagged),
        missing=sum(each.entry is None for each in said),
        of_nothing=len(every) - len(said),
        surprises=len(surprises),
        surprises_asked=sum(each.entry is not None and not each.taken for each in surprises),
        surprises_kept=sum(each.taken and each.right for each in surprises),
        surprises_replaced=sum(each.silent_error for each in surprises),
        processor_s=processor_s,
        bins=binned((each.entry, each.right) for each in every if each.entry is not None),
    )


def binned(entries: Iterable[tuple[Entry, bool]]) -> Bins:
    """Return the entries that have a value by confidence, each with whether it is right."""
    bins = [Bin()] * (len(EDGES) + 1)
    for entry, right in entries:
        if entry.value is not None:
            bins[bisect_right(EDGES, entry.confidence)] += Bin(1, entry.confidence, int(right))
    return Bins(tuple(bins))
