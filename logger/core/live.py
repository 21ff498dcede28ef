"""What a call was, at once: the same model as the whole drive's, run on what has been called out until now. Pure.

A provisional answer is for the read-back. It knows nothing of what comes later, so a first answer that does not fit is
asked about and not repaired; the end of the drive settles everything again.
"""

from __future__ import annotations

from collections import deque

from grammar import Language
from logger.core.calls import read_calls
from logger.core.candidates import Call
from logger.core.reconcile import settle_calls
from logger.core.rows import PlaceAt
from logger.model import Drive, Entry, Recognition, Utterance

WINDOW = 48
"""How many of the newest calls an answer is given by: an hour or two of driving, in a time that does not grow."""


class LiveReconciler:
    """Takes what was heard, stretch by stretch in the order spoken, and answers each at once.

    Args:
        drive: when it began.
        language: what may be said.
        place_at: the track until now; asked anew each time.
    """

    def __init__(self, drive: Drive, language: Language, place_at: PlaceAt) -> None:
        self._drive, self._language, self._place_at = drive, language, place_at
        self._calls: deque[tuple[Utterance, Call]] = deque(maxlen=WINDOW)

    def hear(self, utterance: Utterance, recognition: Recognition) -> tuple[Entry, ...]:
        """Return the provisional entries of one stretch, in the order spoken; none when it is no call."""
        found, _ = read_calls([utterance], [recognition], self._language)
        if not found:
            return ()
        self._calls.extend((utterance, call) for call in found)
        worked = settle_calls(
            self._drive,
            [each for each, _ in self._calls],
            [call for _, call in self._calls],
            language=self._language,
            place_at=self._place_at,
        )
        own = [entry for entry in worked.entries if entry.utterance_id == utterance.id]
        return tuple(sorted(own, key=lambda entry: int(entry.id.rsplit("-", maxsplit=1)[-1])))
