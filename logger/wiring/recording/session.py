"""A live drive while it lasts: everything that comes is taken by one thread, which alone writes the store.

Threads: the host's own for sound, the microphone's and the recognisers' (`hearing`), the receiver's (`positions`), and this
one. They share hardly more than queues. Each recogniser has a process of its own (`apart`).

    microphone --cuts--> recognisers --heard-.
    receiver ---------------fixes------------+--> this thread: store, provisional answer, commit, read-back, learning
"""

from __future__ import annotations

import threading
import time
from collections import deque
from contextlib import suppress
from queue import Empty, SimpleQueue

from grammar import Language
from logger.core.live import LiveReconciler
from logger.core.live_cut import Due, OwnSound
from logger.core.live_view import LiveState
from logger.core.times import elapsed_text
from logger.core.tones import advice_tone, tone_of
from logger.core.units import Distances, first_distances
from logger.core.verdicts import NOTE, Verdict, verdict_on
from logger.core.way import Way
from logger.errors import DamagedError, OdovoxError, StoreError
from logger.model import Entry, Issue, LiveFix, ReceptionChange
from logger.store import DriveStore
from logger.wiring.recording.asked import Asked, Drained, Ended, Heard, News, Opened, Told, Trouble
from logger.wiring.recording.hearing import Hearing
from logger.wiring.recording.holding import Held
from logger.wiring.recording.positions import Positions
from logger.wiring.recording.resuming import LIVE, pack_left_over, warm_up
from logger.wiring.recording.sleeping import Sleep
from logger.wiring.recording.speaking import Mouth
from logger.wiring.recording.storing import Answering
from logger.wiring.recording.turning import Turning
from logger.wiring.uncollected import uncollected

_LOOK_S = 0.2
_SHOW_S = 1.0
_STORE_FIXES_S = 1.0
_AGAIN_S = 3.0
"""A store that refused something is tried again so often."""
_DRAIN_S = 60.0
_NANO = 1_000_000_000
DAMAGED_SPOKEN = "calls are not taken any more, only sound"
_GO_ON = "the drive ends here; start it again to go on with it"
_ASKED_AGAIN, _ASKED_HOW_FAR = "asked: say again", "asked: how far"


class Session:
    """What one run of a drive holds. All its methods but `play` and `readback_trouble` belong to one thread."""

    def __init__(
        self,
        asked: Asked,
        told: Told,
        *,
        stop: threading.Event,
        inbox: SimpleQueue[News],
        positions: Positions,
        language: Language,
        way: Way | None,
    ) -> None:
        self._asked, self._told, self._stop, self._inbox = asked, told, stop, inbox
        self._positions, self._language, self._way = positions, language, way
        self._held = Held()
        self._issues: deque[Issue] = deque()
        self._troubles: dict[str, str] = {}
        self._again_s = 0.0
        self._damaged = False
        """The database is, which nothing puts right while it is written."""
        self._calls = 0
        self._drained = False
        self._early: list[News] = []

    def begin(self, store: DriveStore, hearing: Hearing, mouth: Mouth) -> None:
        """Take what is needed, and start listening.

        Raises:
            StoreError: the drive cannot be read.
        """
        self._store, self._hearing, self._mouth = store, hearing, mouth
        self._drive = store.drive()
        self._live = LiveReconciler(self._drive, self._language, self._positions.track.at)
        self._answering = Answering(store, self._live)
        self._turning = Turning(self._drive, self._way, self._distances, self._live, self._positions)
        warm_up(self._live, store, self._positions.track)
        self._hearing.start()

    def play(self, own: OwnSound) -> None:
        """Pass on that a sound of ours is about to be heard."""
        self._hearing.play(own)

    def readback_trouble(self, text: str, over: bool) -> None:  # noqa: FBT001  (as `Mouth` calls it)
        """Pass on what is wrong with the read-back."""
        self._inbox.put(Trouble("read-back", text, over))

    def take_early_fixes(self) -> None:
        """Learn the time from the fixes that came while the recogniser was loaded; the rest waits."""
        while not self._inbox.empty():
            news = self._inbox.get()
            if isinstance(news, LiveFix | ReceptionChange):
                self._take(news)
            else:
                self._early.append(news)

    def run(self) -> None:
        """Take what comes until the drive is to end, and then until nothing more comes."""
        for news in self._early:
            self._inbox.put(news)
        stopping_s: float | None = None
        shown_s = stored_s = 0.0
        sleep = Sleep()
        while not self._drained:
            if (slept_s := sleep.slept_s()) and not self._stop.is_set():
                # Whoever closes the lid has done with the drive; what is said when it is opened again is no part of it.
                self._odd(Issue("live_slept", f"the machine slept for {elapsed_text(slept_s)}: {_GO_ON}"))
                self._stop.set()
            if stopping_s is None and self._stop.is_set():
                stopping_s = time.monotonic()
                self._hearing.stop()
            if stopping_s is not None and time.monotonic() - stopping_s > _DRAIN_S:
                break  # the recogniser hangs; what it did not hear is heard when the drive is gone on with
            with suppress(Empty):
                self._take(self._inbox.get(timeout=_LOOK_S))
            now_s = time.monotonic()
            if now_s - stored_s >= _STORE_FIXES_S:
                stored_s = now_s
                self._store_what_waits()
            if now_s - shown_s >= _SHOW_S:
                shown_s = now_s
                self._told.show(self._state())
                self._advise()
        self._again_s = 0.0
        self._store_what_waits()
        pack_left_over(self._store.folder, self._told.remark)

    def _take(self, news: News) -> None:
        match news:
            case LiveFix():
                for issue in self._positions.take(news):
                    self._odd(issue)
            case ReceptionChange():
                self._receive(news)
            case Opened():
                self._open(news)
            case Ended():
                self._finish(news)
            case Heard():
                self._hear(news)
            case Trouble():
                self._trouble(news)
            case Drained():
                self._drained = True
                self._stop.set()

    def _receive(self, change: ReceptionChange) -> None:
        issue = self._positions.change(change)
        if issue is None:
            self._told.remark(change.detail)
        else:
            self._odd(issue)

    def _odd(self, issue: Issue) -> None:
        self._told.remark(issue.message)
        self._issues.append(issue)

    def _trouble(self, trouble: Trouble) -> None:
        if trouble.over:
            self._troubles.pop(trouble.what, None)
        elif self._troubles.get(trouble.what) == trouble.text:
            return  # told already
        else:
            self._troubles[trouble.what] = trouble.text
        self._told.remark(trouble.text)
        if trouble.what in {"microphone", "sound"} and not (trouble.over and trouble.what == "microphone"):
            self._issues.append(Issue(f"live_{trouble.what}", f"at {self._elapsed()}: {trouble.text}"))

    def _open(self, opened: Opened) -> None:
        start_ns = self._positions.stamp(opened.start_mono_ns) - self._drive.began_utc_ns
        try:
            source = self._store.add_source(f"microphone '{opened.name}'", LIVE, start_ns)
        except StoreError as error:
            self._refused(error)
            opened.reply.put(error)
        else:
            opened.reply.put(source.id)

    def _finish(self, ended: Ended) -> None:
        try:
            self._store.finish_source(ended.source_id, ended.sample_count)
        except OdovoxError as error:
            self._refused(error)  # it is ended when the drive is gone on with

    def _hear(self, heard: Heard) -> None:
        cut = heard.what.cut
        if cut.due is Due.EARLY and (cut.is_stale or not heard.what.hypotheses):
            return
        if self._held:
            self._held.add(heard)  # in the order spoken
            return
        try:
            with uncollected():  # somebody waits
                self._answer(heard)
        except StoreError as error:
            self._held.add(heard)
            self._refused(error)

    def _answer(self, heard: Heard) -> None:
        """Store a call and what it comes to, and only then read it back.

        Raises:
            StoreError: it cannot be stored; nothing of it is.
        """
        cut, call = heard.what.cut, heard.what.cut.call
        again = call.utterance is not None
        start_ns = self._positions.stamp(cut.start_mono_ns) - self._drive.began_utc_ns
        entries = self._answering.answer(heard, start_ns)
        if entries is None:
            return
        self._calls += bool(entries) - again
        said = tuple((each.quantity, each.value, each.unit, each.note, each.status) for each in entries)
        if said != call.said:
            asked_before = {each[3] for each in call.said} & {_ASKED_AGAIN, _ASKED_HOW_FAR}
            call.said = said
            if not asked_before:
                self._read_back(entries, heard)
            if entries:
                self._told.heard(entries, verdict_on(entries))
            else:
                self._told.remark(
                    f"at {self._elapsed()}: that was no call after all; if it was, say it again"
                )
        if heard.what.for_good:  # one recogniser alone teaches nothing of two
            self._live.learn()

    def _read_back(self, entries: tuple[Entry, ...], heard: Heard) -> None:
        notes = {each.note for each in entries if each.quantity == NOTE}
        if _ASKED_HOW_FAR in notes:
            self._tell_how_far()
        elif _ASKED_AGAIN in notes:
            self._mouth.again()
        else:
            self._mouth.answer(verdict_on(entries), entries)
            if notes:
                self._hearing.keep_after(heard.source_id, heard.what.cut.end)

    def _tell_how_far(self) -> None:
        reach = self._turning.asked()
        self._mouth.tell(reach.spoken, tone_of(Verdict.TAKEN))
        self._odd(Issue("how_far", f"how far at {self._elapsed()}: {reach.spoken}; {reach.reasoning}"))

    def _advise(self) -> None:
        reach = self._turning.unasked()
        if reach is not None:
            self._mouth.tell(reach.spoken, advice_tone())
            self._odd(Issue("turning", f"unasked at {self._elapsed()}: {reach.spoken}; {reach.reasoning}"))

    def _elapsed(self) -> str:
        return elapsed_text(
            (self._positions.bridge.utc_ns(time.monotonic_ns()) - self._drive.began_utc_ns) / _NANO
        )

    @property
    def _distances(self) -> Distances:
        """The sheet's own unit of distance."""
        return first_distances(each.unit for each in self._language.phrasebook.quantities) or "mi"

    def _store_what_waits(self) -> None:
        """Store fixes, issues and what the store refused before; what it refuses again waits on."""
        if time.monotonic() < self._again_s:
            return
        try:
            self._positions.store(self._store)
            with self._store.atomic():
                for issue in self._issues:
                    self._store.add_issue(issue)
            self._issues.clear()
            while self._held:
                self._answer(self._held.first())
                self._held.take_first()
        except StoreError as error:
            self._refused(error)
        else:
            if not self._damaged and self._troubles.pop("store", None) is not None:
                self._told.remark(f"the drive can be written again; {self._held.missing()}")
                self._again_s = 0.0

    def _refused(self, error: OdovoxError) -> None:
        self._again_s = time.monotonic() + _AGAIN_S
        while isinstance(error, DamagedError) and self._held:
            with suppress(StoreError):
                self._answering.keep_sound(self._held.first())
            self._held.take_first()
        if isinstance(error, DamagedError) and not self._damaged:
            self._damaged = True
            self._troubles["store"] = str(error)
            self._told.remark(f"{error}; until then sound is kept, and calls are heard from it afterwards")
            self._mouth.tell(DAMAGED_SPOKEN, tone_of(Verdict.NOT_UNDERSTOOD))
        elif "store" not in self._troubles:
            self._troubles["store"] = str(error)
            self._told.remark(f"{error}; what is heard is held until it can be written")

    def _state(self) -> LiveState:
        now_ns = self._positions.bridge.utc_ns(time.monotonic_ns())
        return LiveState(
            elapsed_s=(now_ns - self._drive.began_utc_ns) / _NANO,
            entries=self._live.entries,
            calls=self._calls,
            reception=self._positions.reception,
            distance_m=self._positions.track.distance_m,
            level_dbfs=self._hearing.level_dbfs,
            distances=self._distances,
            trouble=next(iter(self._troubles.values()), ""),
        )
