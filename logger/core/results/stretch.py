"""Which part of a drive its results are about: from where the car was last charged to where it was charged again, or the end.

A charging stop is noted (`charging`, `unplugged`), or seen by a charge that rose by `CHARGED_POINTS` or more: a descent
gives a point or two. Readings on either side are never used together. Pure.
"""

from __future__ import annotations

from dataclasses import dataclass

from logger.core.charge_left import LEAST_USED
from logger.core.results.observed import Observed, Reading

CHARGED_POINTS = 3.0
"""A charge that rises by so much was charged."""

_CHARGING = frozenset({"charging", "unplugged"})


@dataclass(frozen=True, slots=True)
class Stretch:
    """The part of a drive that counts.

    Attributes:
        from_s: when it begins, seconds since the drive began.
        to_s: when it ends; infinite for the drive's end.
        charges: the charges read off in it.
        remarks: what a reader must know of it, a sentence each; () where it is the whole drive.
    """

    from_s: float
    to_s: float
    charges: tuple[Reading, ...]
    remarks: tuple[str, ...] = ()

    @property
    def zero(self) -> int | None:
        """The index of the first charge of 0; None where none was read."""
        return next((index for index, each in enumerate(self.charges) if each.value <= 0.0), None)

    @property
    def begins_full(self) -> bool:
        """Whether the first charge read off is 100 %."""
        return bool(self.charges) and self.charges[0].value >= 100.0

    def holds(self, at_s: float) -> bool:
        """Whether an instant lies in it."""
        return self.from_s <= at_s <= self.to_s


def stretch_of(seen: Observed, charges: tuple[Reading, ...] | None = None) -> Stretch:
    """Return the last stretch without charging in which the charge fell by `LEAST_USED` points; where none did, the last one.

    Args:
        seen: the drive.
        charges: the charges to go by, in the order of the drive; None for those that count.
    """
    charges = seen.of("charge") if charges is None else charges
    noted = [note.at_s for note in seen.notes if note.text in _CHARGING]
    parts: list[tuple[float, list[Reading], bool]] = [(0.0, [], False)]
    waiting = list(noted)
    least = 0.0
    for each in charges:
        while waiting and waiting[0] <= each.at_s:
            parts.append((waiting.pop(0), [], True))
        if not parts[-1][1]:
            least = each.value
        elif each.value - least >= CHARGED_POINTS:
            parts.append((each.at_s, [], False))
            least = each.value
        least = min(least, each.value)
        parts[-1][1].append(each)
    parts += [(at_s, [], True) for at_s in waiting]
    fell = [index for index, (_, read, _) in enumerate(parts) if _used(read) >= LEAST_USED]
    held = [index for index, (_, read, _) in enumerate(parts) if read]
    index = (fell or held or [0])[-1]
    from_s, read, by_note = parts[index]
    to_s = parts[index + 1][0] if index + 1 < len(parts) else float("inf")
    return Stretch(from_s, to_s, tuple(read), _remarks(parts, index, by_note=by_note))


def _used(read: list[Reading]) -> float:
    return read[0].value - read[-1].value if read else 0.0


def _remarks(parts: list[tuple[float, list[Reading], bool]], index: int, *, by_note: bool) -> tuple[str, ...]:
    remarks = []
    driven_before = any(read for _, read, _ in parts[:index])
    if driven_before:
        since = "the noted charging stop" if by_note else "the charge rose (no charging was noted)"
        remarks.append(f"Only the part of the drive since {since} counts.")
    if any(read for _, read, _ in parts[index + 1 :]) or index + 1 < len(parts):
        remarks.append("What was driven after the car was charged again does not count.")
    return tuple(remarks)
