"""The microphone's thread, which never waits for anybody, and those of the recognisers, which may take their time."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any

from logger.core.captured import joined
from logger.core.levels import rms_dbfs
from logger.core.live_cut import Cut, Due, HeardCut, LiveCutter, OwnSound, goes_on_with, joined_to
from logger.errors import OdovoxError, SoundError
from logger.model import RATE_HZ, CapturedBlock, SoundBlock
from logger.ports import Recogniser
from logger.sound.microphone import Microphone
from logger.wiring.choosing import Chosen
from logger.wiring.recording.asked import Drained, Ended, Heard, Keep, News, Opened, Trouble
from logger.wiring.recording.keeping import Keeper

NOTE_S = 15.0
"""How much sound after a note is kept with it where the whole sound is not."""
_READ_S = 0.2
_AGAIN_S = 1.0
"""A microphone that went is looked for so often."""


class Hearing:
    """Captures, keeps the sound, cuts, and has the cuts recognised, in three threads of its own.

    Args:
        drive: the drive's folder.
        microphone: the one that is open already.
        chosen: who hears the cuts, each asked by more than one thread.
        name: what is asked for when the microphone has to be opened again.
        keep: whether all sound is kept, or what follows a note only.
        inbox: where the news go.
        before_opening: called when a microphone was lost, before it is looked for: whatever else holds the sound
            system open must let go of it, or a new device is never seen.
    """

    def __init__(
        self,
        drive: Path,
        microphone: Microphone,
        chosen: Chosen,
        *,
        name: str | None,
        keep: Keep,
        inbox: SimpleQueue[News],
        before_opening: Callable[[], None],
    ) -> None:
        self._drive, self._name, self._keep = drive, name, keep
        self._microphone: Microphone | None = microphone
        self._chosen, self._inbox, self._before_opening = chosen, inbox, before_opening
        self._quick_work: SimpleQueue[tuple[int, Cut] | None] = SimpleQueue()
        self._work: SimpleQueue[tuple[int, Cut | HeardCut] | None] = SimpleQueue()
        self._call_before: HeardCut | None = None
        """The newest call that is over."""
        self._pairing = threading.Lock()
        """What was heard of a call and the cut that is due are put together by one thread at a time."""
        self._stop = threading.Event()
        self._cutter = LiveCutter()
        self._source_id = 0
        self._count = 0
        self._sound = Keeper(drive, inbox.put)
        self._wanted: SimpleQueue[tuple[int, int]] = SimpleQueue()
        self._keep_next, self._keep_until = 0, 0
        self.level_dbfs: float | None = None
        """How loud the newest second was; None while there is no microphone."""
        self._capturing = threading.Thread(target=self._guarded, args=(self._capture,), daemon=True)
        self._hearing_early = threading.Thread(target=self._guarded, args=(self._hear_early,), daemon=True)
        self._hearing = threading.Thread(target=self._guarded, args=(self._hear_for_good,), daemon=True)

    def start(self) -> None:
        """Begin."""
        self._capturing.start()
        self._hearing_early.start()
        self._hearing.start()

    def stop(self) -> None:
        """End the capture; `Drained` comes when all that was captured has been recognised."""
        self._stop.set()

    def play(self, own: OwnSound) -> None:
        """Take note that something of ours is about to be heard."""
        self._cutter.play(own)

    def keep_after(self, source_id: int, sample: int) -> None:
        """Keep the next seconds of sound after a sample, whatever is kept otherwise."""
        if self._keep == "calls" and source_id == self._source_id:
            self._wanted.put((sample, sample + round(NOTE_S * RATE_HZ)))

    def _guarded(self, work: Callable[[], None]) -> None:
        """Tell what no one foresaw, and end: a thread that dies in silence would look like a drive in which nobody speaks."""
        try:
            work()
        except Exception as error:  # noqa: BLE001  (told, and the drive is ended well)
            self._inbox.put(
                Trouble("sound", f"{type(error).__name__}: {error}; please report this as a fault")
            )
            self._inbox.put(Drained())

    def _capture(self) -> None:
        while not self._stop.is_set():
            microphone = self._microphone or self._opened_again()
            if microphone is None:
                continue
            self._microphone = None
            with microphone:
                self._listen(microphone)
            self.level_dbfs = None
        self._sound.give_up()
        self._quick_work.put(None)

    def _opened_again(self) -> Microphone | None:
        self._before_opening()
        try:
            microphone = Microphone(self._name)
        except SoundError:
            self._stop.wait(_AGAIN_S)
            return None
        return microphone

    def _listen(self, microphone: Microphone) -> None:
        """Take what one open microphone gives until it is lost or the drive ends."""
        self._cutter, self._count, self._source_id = LiveCutter(), 0, 0
        waiting: list[CapturedBlock] = []
        opened: Opened | None = None
        told: list[CapturedBlock] = []
        try:
            while not self._stop.is_set():
                block = microphone.read(_READ_S)
                if block is None:
                    continue
                if opened is None:
                    opened = Opened(microphone.device.name, block.start_mono_ns)
                    self._inbox.put(opened)
                waiting.append(block)
                if not self._source_id and not self._numbered(opened):
                    continue
                for each in waiting:
                    self._take(each)
                waiting.clear()
                told = [*told[-19:], block]
                self.level_dbfs = rms_dbfs(joined(told))
        except SoundError as error:
            self.level_dbfs = None
            self._inbox.put(Trouble("microphone", str(error)))
        with suppress(SoundError):  # the drive takes no new source, which was told
            if opened is not None and waiting and self._numbered(opened, wait_s=5.0):
                for each in waiting:
                    self._take(each)
        self._finish()

    def _numbered(self, opened: Opened, wait_s: float = 0.0) -> bool:
        """Whether the source has its number, for which the sound waits."""
        if self._source_id:
            return True
        try:
            reply = opened.reply.get(timeout=wait_s) if wait_s else opened.reply.get_nowait()
        except Empty:
            return False
        if isinstance(reply, OdovoxError):
            raise SoundError(str(reply))
        self._source_id = reply
        self._inbox.put(Trouble("microphone", f"listening to '{opened.name}'", over=True))
        return True

    def _take(self, block: CapturedBlock) -> None:
        if block.lost_samples:
            lost_s = block.lost_samples / RATE_HZ
            self._inbox.put(
                Trouble("sound", f"{lost_s:.2f} s of sound were lost: the machine was too busy", over=True)
            )
            self._count += block.lost_samples
        placed = SoundBlock(self._count, block.samples)
        self._count += len(block.samples)
        if self._keep == "all":
            self._sound.keep(self._source_id, placed)
        for cut in self._cutter.feed(placed, block.start_mono_ns):
            self._pass_on(cut)
        if self._keep == "calls":
            self._write_wanted()

    def _pass_on(self, cut: Cut) -> None:
        if cut.due is Due.EARLY:
            self._due(self._source_id, cut)
        queue: SimpleQueue[Any] = self._work if cut.due is Due.WHOLE else self._quick_work
        queue.put((self._source_id, cut))

    def _write_wanted(self) -> None:
        while not self._wanted.empty():
            begin, end = self._wanted.get()
            self._keep_next = max(self._keep_next, begin)
            self._keep_until = max(self._keep_until, end)
        until = min(self._keep_until, self._count)
        if self._keep_next >= until:
            return
        for first_sample, samples in self._cutter.sound(self._keep_next, until):
            self._sound.keep(self._source_id, SoundBlock(first_sample, samples))
        self._keep_next = until
        if until == self._keep_until:
            self._sound.end_file()

    def _finish(self) -> None:
        for cut in self._cutter.close():
            self._pass_on(cut)
        self._sound.end()
        if self._source_id:
            self._inbox.put(Ended(self._source_id, self._count))

    def _hear_early(self) -> None:
        """Hear cuts that may go on, quickly: an answer that is there in time is asked for good by the other thread."""
        quicker = self._chosen.quicker
        for_good = quicker is self._chosen.recogniser
        while (work := self._quick_work.get()) is not None:
            source_id, cut = work
            if cut.is_stale or (cut.call.heard is not None and cut.call.heard.as_in(cut) is not None):
                continue
            with self._telling():
                heard = _heard_in(cut, quicker, for_good=for_good)
                self._heard_early(source_id, heard)
                if heard.hypotheses and not for_good:
                    self._work.put((source_id, heard))
        self._work.put(None)

    def _hear_for_good(self) -> None:
        """Hear what the quicker one took for a call, and calls that are over."""
        while (work := self._work.get()) is not None:
            source_id, what = work
            with self._telling():
                if isinstance(what, Cut):
                    heard = self._heard_whole(what)
                    self._inbox.put(Heard(source_id, heard))
                    if heard.hypotheses:
                        self._call_before = heard
                elif not what.cut.is_stale:
                    hypotheses = self._chosen.confirmed(what.cut.samples, what.hypotheses)
                    name = self._chosen.recogniser.name
                    heard = replace(what, hypotheses=hypotheses, recogniser=name, for_good=True)
                    self._heard_early(source_id, heard)
        self._inbox.put(Drained())

    @contextmanager
    def _telling(self) -> Iterator[None]:
        """Tell what goes wrong: the sound is kept, and the next call may be heard."""
        try:
            yield
        except Exception as error:  # noqa: BLE001  (whatever a recogniser raises)
            self._inbox.put(
                Trouble("recogniser", f"a stretch could not be heard ({type(error).__name__}: {error})")
            )

    def _heard_early(self, source_id: int, heard: HeardCut) -> None:
        """Answer the early cut that what was heard belongs to, if it is due already."""
        call = heard.cut.call
        with self._pairing:
            call.heard = heard
            answer = heard.as_in(call.early) if call.early is not None else None
        if answer is not None:
            self._inbox.put(Heard(source_id, answer))

    def _due(self, source_id: int, cut: Cut) -> None:
        """Answer an early cut by what was heard ahead, if that is known already."""
        call = cut.call
        with self._pairing:
            call.early = cut
            answer = call.heard.as_in(cut) if call.heard is not None else None
        if answer is not None:
            self._inbox.put(Heard(source_id, answer))

    def _heard_whole(self, cut: Cut) -> HeardCut:
        """Return what is heard in a call that is over, for good: in all of it, else in what was answered of it."""
        call = cut.call
        same = call.heard.as_in(cut) if call.heard is not None else None
        if same is not None and same.for_good and same.hypotheses:
            return same
        heard, answered = _heard_in(cut, self._chosen.recogniser), call.answered
        if heard.hypotheses or (answered is not None and answered.as_in(cut) is not None):
            return heard
        if answered is None:
            return self._heard_with_call_before(cut) or heard
        if answered.for_good:
            return heard
        # What came after it is no call. Whether there was one is asked of those who are believed.
        return _heard_in(replace(answered.cut, due=Due.WHOLE), self._chosen.recogniser)

    def _heard_with_call_before(self, cut: Cut) -> HeardCut | None:
        """Return what is heard in a cut together with the call that it follows closely, if it goes on with it."""
        before = self._call_before
        both = joined_to(before, cut)
        if before is None or both is None:
            return None
        heard = _heard_in(both, self._chosen.recogniser)
        return heard if goes_on_with(before.hypotheses, heard.hypotheses) else None


def _heard_in(cut: Cut, recogniser: Recogniser, *, for_good: bool = True) -> HeardCut:
    """Return what is heard in a cut, or in the wider one where that helps."""
    hypotheses = recogniser.recognise(cut.samples)
    if not hypotheses and cut.wider is not None:
        wider = recogniser.recognise(cut.wider.samples)
        if wider:
            return HeardCut(cut.wider, wider, recogniser.name, for_good, widened=True)
    return HeardCut(cut, hypotheses, recogniser.name, for_good)
