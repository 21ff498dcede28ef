"""What a call was, at once: the same model as the whole drive's, run on what has been called out until now. Pure.

A provisional answer is for the read-back. It knows nothing of what comes later, so a first answer that does not fit is
asked about and not repaired; the end of the drive settles everything again.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from grammar import Language
from logger.core.calls import read_calls
from logger.core.candidates import Call
from logger.core.charge_left import matters
from logger.core.neighbours import Place
from logger.core.readers import Reader
from logger.core.reconcile import settle_calls
from logger.core.rows import PlaceAt
from logger.core.trusting import AS_MEASURED, learned
from logger.model import Drive, Entry, Recognition, Status, Utterance

WINDOW = 48
"""How many of the newest calls an answer is given by: an hour or two of driving, in a time that does not grow."""


@dataclass(frozen=True, slots=True)
class _Heard:
    utterance: Utterance
    recognition: Recognition
    call: Call


@dataclass(frozen=True, slots=True)
class Known:
    """What a `LiveReconciler` knew at some moment; it alone looks into it."""

    heard: tuple[_Heard, ...]
    readings: Mapping[str, tuple[Reader, Place]]
    entries: tuple[Entry, ...]
    older: tuple[Entry, ...]


class LiveReconciler:
    """Takes what was heard, stretch by stretch, about in the order spoken, and answers each at once.

    Args:
        drive: when it began.
        language: what may be said.
        place_at: the track until now; asked anew each time.
    """

    def __init__(self, drive: Drive, language: Language, place_at: PlaceAt) -> None:
        self._drive, self._language, self._place_at = drive, language, place_at
        self._heard: deque[_Heard] = deque(maxlen=WINDOW)
        self._readings: Mapping[str, tuple[Reader, Place]] = {}
        self._trust = AS_MEASURED
        self.entries: tuple[Entry, ...] = ()
        """What the newest calls stand at since the last `hear`: a correction or a strike changes older ones too."""
        self._older: tuple[Entry, ...] = ()
        """What has a say in how far the charge goes, of calls that are no longer among the newest."""

    @property
    def charge_course(self) -> tuple[Entry, ...]:
        """All that has a say in how far the charge goes, since the drive began; it grows by one a call at most."""
        return (*self._older, *(entry for entry in self.entries if matters(entry)))

    def remember(self, spoken: Sequence[tuple[Utterance, Recognition]], entries: Sequence[Entry]) -> None:
        """Take what a drive said before this run, without answering it call by call; for before the first `hear`.

        Args:
            spoken: what was heard, in the order spoken; calls or not.
            entries: what was made of it as far as something was; the rest is settled here, all at once.
        """
        calls = (
            (utterance, recognition, self._read(utterance, recognition))
            for utterance, recognition in reversed(spoken)
        )
        newest = islice((_Heard(one, two, call) for one, two, call in calls if call is not None), WINDOW)
        self._heard.extend(reversed(tuple(newest)))
        among = {each.utterance.id for each in self._heard}
        self._older = tuple(each for each in entries if each.utterance_id not in among and matters(each))
        self.entries = _in_order(each for each in entries if each.utterance_id in among)
        unanswered = among - {each.utterance_id for each in entries}
        if unanswered:
            self._settled(*unanswered)

    def hear(self, utterance: Utterance, recognition: Recognition) -> tuple[Entry, ...]:
        """Return the provisional entries of one stretch, in the order spoken; none when it is no call."""
        call = self._read(utterance, recognition)
        if call is None:
            return ()
        if len(self._heard) == WINDOW:
            leaving = self._heard[0].utterance.id
            gone = (each for each in self.entries if each.utterance_id == leaving and matters(each))
            self._older = (*self._older, *gone)
        self._heard.append(_Heard(utterance, recognition, call))
        if len(self._heard) > 1 and self._heard[-2].utterance.start_ns > utterance.start_ns:
            # A call that took longer to hear than the next one.
            self._heard = deque(sorted(self._heard, key=lambda each: each.utterance.start_ns), maxlen=WINDOW)
        own = [entry for entry in self._settled(utterance.id) if entry.utterance_id == utterance.id]
        return tuple(sorted(own, key=lambda entry: int(entry.id.rsplit("-", maxsplit=1)[-1])))

    def known(self) -> Known:
        """Return all that is known now, to go back to."""
        return Known(tuple(self._heard), self._readings, self.entries, self._older)

    def go_back_to(self, known: Known) -> None:
        """Know what was known then and nothing more, as if nothing had been heard since."""
        self._heard = deque(known.heard, maxlen=WINDOW)
        self._readings, self.entries, self._older = known.readings, known.entries, known.older

    def is_call(self, recognition: Recognition) -> bool:
        """Whether a stretch in which this was heard is a call; nothing is remembered of it."""
        return self._read(Utterance(recognition.utterance_id, 0, 0, 0, 0, ""), recognition) is not None

    def forget(self, utterance_id: int) -> None:
        """Leave a stretch out from now on: what was heard of it is part of a longer one, which is heard next."""
        kept = (each for each in self._heard if each.utterance.id != utterance_id)
        self._heard = deque(kept, maxlen=WINDOW)

    def take_back(self, utterance_id: int) -> None:
        """Leave out a stretch that turned out to be no call: what it struck or corrected stands again in `entries`."""
        self.forget(utterance_id)
        self._settled()

    def learn(self) -> None:
        """Learn from the newest calls whom of two joined recognisers to believe; for when nobody waits for an answer."""
        trust = learned(
            {each.utterance.id: each.recognition for each in self._heard},
            self._readings.values(),
            self._language,
        )
        if trust == self._trust:
            return
        self._trust = trust
        again = [(each, self._read(each.utterance, each.recognition)) for each in self._heard]
        self._heard = deque(
            (replace(each, call=call) for each, call in again if call is not None), maxlen=WINDOW
        )

    def _settled(self, *utterance_ids: int) -> tuple[Entry, ...]:
        """Bring `entries` up to date, those of readings that did not stand until now included; return what was settled."""
        gone = {entry.utterance_id for entry in self.entries if entry.status is Status.REJECTED}
        worked = settle_calls(
            self._drive,
            [each.utterance for each in self._heard],
            [each.call for each in self._heard],
            language=self._language,
            place_at=self._place_at,
            only=gone.union(utterance_ids),
        )
        self._readings = worked.readings
        among = {each.utterance.id for each in self._heard}.difference(utterance_ids)
        stand = {entry.id: entry for entry in self.entries if entry.utterance_id in among}
        stand |= {entry.id: entry for entry in worked.entries}
        self.entries = _in_order(stand.values())
        return worked.entries

    def _read(self, utterance: Utterance, recognition: Recognition) -> Call | None:
        found, _ = read_calls([utterance], [recognition], self._language, self._trust)
        return found[0] if found else None


def _in_order(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    return tuple(sorted(entries, key=lambda entry: (entry.at_ns, entry.utterance_id, entry.id)))
