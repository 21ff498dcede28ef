"""A review in words: an entry in doubt with all that speaks for each value, and what an answer did."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from logger.core.history import STATUS_WORDS, content_text, step_text
from logger.core.times import elapsed_text
from logger.model import Status

if TYPE_CHECKING:
    from logger.core.deciding import Ranked
    from logger.model import Entry
    from logger.wiring.reviewing.detail import Detail
    from logger.wiring.reviewing.drive import Settled

LETTERS = "abcdefgh"
"""What alternatives are called, likeliest first; more are not offered."""


def entry_text(entry: Entry) -> str:
    """Return an entry in a few words, with its time and status."""
    what = content_text(entry.quantity, entry.value, entry.unit, entry.note)
    return f"{elapsed_text(entry.at_ns / 1e9)}  {what}, {STATUS_WORDS[entry.status]}"


def outcome_lines(settled: Settled) -> list[str]:
    """Return what an answer came to, each thing in one line, the number of doubts left last."""
    lines = []
    for entry_id in settled.about:
        entry = settled.view.entry(entry_id)
        lines.append(f"{entry_id}: {entry_text(entry) if entry is not None else 'is not there any more'}")
    did = settled.effect
    for old, new in did.vanished:
        now = "is not there any more" if new is None else entry_text(new)
        lines.append(f"no longer in doubt by this: {old.id}: {now}")
    lines += [f"now in doubt: {new.id}: {entry_text(new)}: {new.reason}" for _, new in did.appeared]
    lines += [f"changed with it: {new.id}: {entry_text(new)}" for _, new in did.changed]
    left = len(settled.view.doubts)
    lines.append("nothing is in doubt any more" if not left else f"{left} left in doubt")
    return lines


def detail_lines(detail: Detail, number: int, count: int) -> list[str]:
    """Return an entry in doubt as lines for a person; `number` of `count` doubts, from 1."""
    entry = detail.entry
    along = "" if detail.place is None else f", {detail.place.distance_m / 1000:.1f} km along the track"
    heard = f", heard as '{entry.heard}'" if entry.heard else ""
    lines = [
        f"{number} of {count}   {entry.id}   {elapsed_text(entry.at_ns / 1e9)}{along}",
        f"  {content_text(entry.quantity, entry.value, entry.unit, entry.note)}{heard}",
        f"  {entry.reason}",
    ]
    lines += [
        f"    {letter}  {ranked_text(each)}" for letter, each in zip(LETTERS, detail.ranked, strict=False)
    ]
    weighing = detail.explanation.weighing
    if weighing is not None:
        for side, near in (("before", weighing.before), ("after", weighing.after)):
            if near is not None:
                at = elapsed_text(near.observed.at_ns / 1e9)
                lines.append(f"  {side}: {near.observed.text} at {at}, {near.km:.1f} km away")
    lines += [f"  {step.decision.who} {step_text(step)}" for step in detail.steps]
    return lines


def ranked_text(each: Ranked) -> str:
    """Return one thing that an entry may be, with its probability and words."""
    mark = "  (as it is)" if each.number is None else ""
    what = content_text(each.quantity, each.value, each.unit, "")
    return f"{what:28} {share_text(each.probability):>6}  '{each.heard}'{mark}"


def share_text(share: float) -> str:
    """Return a probability in percent; one that is not quite 0 or 1 does not look like it."""
    if 0.0 < share < 0.005:
        return "<1 %"
    if 0.995 < share < 1.0:
        return ">99 %"
    return f"{share:.0%}".replace("%", " %")


def what_to_do(entry: Entry, ranked: Sequence[Ranked]) -> str:
    """Return what may be answered about an entry, in one line."""
    parts = []
    if ranked:
        last = LETTERS[min(len(ranked), len(LETTERS)) - 1]
        parts.append("a takes it" if last == "a" else f"a-{last} take one")
    elif entry.quantity == "note" and entry.status is Status.FLAGGED:
        parts.append("ok accepts it")
    parts.append("or type what was said")
    return f"{', '.join(parts)}; p play, pp slower, w with more around it, x reject, u undo, s skip, q end, ? help"
