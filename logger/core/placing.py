"""When each word of an answer was spoken, on the drive clock. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import SequenceMatcher

from logger.model import RATE_HZ, Hypothesis, Utterance

_NANO = 1_000_000_000


def spoken_at_ns(utterance: Utterance, hypothesis: Hypothesis, word: int, best: Hypothesis) -> int:
    """Return when word number `word` of an answer began, on the drive clock.

    A number beyond the answer's words means its last word; an answer without words began with the utterance.
    """
    return at_word_ns(utterance, word_starts_ns(hypothesis, best, length_ns(utterance)), word)


def at_word_ns(utterance: Utterance, starts_ns: Sequence[int], word: int) -> int:
    """Return the same by the times at which all the answer's words began."""
    if not starts_ns:
        return utterance.start_ns
    return utterance.start_ns + starts_ns[min(word, len(starts_ns) - 1)]


def length_ns(utterance: Utterance) -> int:
    """Return how long the utterance's sound is."""
    return utterance.sample_count * _NANO // RATE_HZ


def word_starts_ns(hypothesis: Hypothesis, best: Hypothesis, length_ns: int) -> tuple[int, ...]:
    """Return when each word of an answer began, in nanoseconds after the stretch began.

    A recogniser may time the words of its best path only. A word without a time takes that of the same word in
    `best` (the two texts aligned); one that is not there lies evenly between its timed neighbours, or between them
    and the ends of the stretch. Times that a recogniser puts outside the stretch are brought to its nearer end.
    """
    words = hypothesis.words
    starts = [word.start_ns for word in words]
    timed = any(word.start_ns is not None for word in best.words)
    if timed and None in starts and best is not hypothesis:
        matcher = SequenceMatcher(
            None, [word.text for word in best.words], [word.text for word in words], autojunk=False
        )
        for block in matcher.get_matching_blocks():
            for offset in range(block.size):
                if starts[block.b + offset] is None:
                    starts[block.b + offset] = best.words[block.a + offset].start_ns
    return tuple(_filled(starts, length_ns))


def _filled(starts: list[int | None], length_ns: int) -> list[int]:
    """Return the times with the missing ones laid evenly between their neighbours."""
    filled: list[int] = []
    index = 0
    while index < len(starts):
        known = starts[index]
        if known is not None:
            filled.append(min(max(known, 0), length_ns))
            index += 1
            continue
        end = index
        while end < len(starts) and starts[end] is None:
            end += 1
        following = starts[end] if end < len(starts) else None
        low = filled[-1] if filled else 0
        high = max(low, length_ns if following is None else min(following, length_ns))
        # After a timed word the first missing one is a step further; at the start of a stretch it is the start.
        steps = end - index + (1 if filled else 0)
        first = 1 if filled else 0
        filled += [low + (high - low) * (first + k) // steps for k in range(end - index)]
        index = end
    return filled
