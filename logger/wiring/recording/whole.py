"""A live drive from its beginning to its end."""

from __future__ import annotations

import threading
import time
from contextlib import ExitStack
from queue import SimpleQueue

from grammar import Language
from logger.core.time_bridge import TimeBridge
from logger.model import Drive
from logger.sound.microphone import Microphone
from logger.store import DriveStore
from logger.store.lock import RecordingLock
from logger.wiring.choosing import choose_from
from logger.wiring.existing import existing_drive, sheet_of
from logger.wiring.reconciling import Summary, settle, summary_of
from logger.wiring.recording.apart import Apart
from logger.wiring.recording.asked import Asked, News, Told
from logger.wiring.recording.hearing import Hearing
from logger.wiring.recording.positions import Positions, Watching
from logger.wiring.recording.resuming import finish_left_over
from logger.wiring.recording.session import Session
from logger.wiring.recording.speaking import Mouth

_NANO = 1_000_000_000


def record(asked: Asked, told: Told, stop: threading.Event) -> Summary:
    """Record a drive until `stop` is set, then settle all of it.

    Raises:
        OdovoxError: the folder, the sheet, the recogniser or the microphone cannot be used at the start, or the drive
            can no longer be settled at the end; what was recorded is kept.
    """
    began_mono_ns, began_utc_ns = time.monotonic_ns(), time.time_ns()
    inbox: SimpleQueue[News] = SimpleQueue()
    with ExitStack() as stack:
        stack.enter_context(RecordingLock(asked.out))
        store = existing_drive(asked.out)
        if store is not None:
            stack.enter_context(store)
        sheet = sheet_of(store, asked.sheet_path, "name a new folder")
        watching = Watching(asked.gpsd, inbox)
        watching.start()
        stack.callback(watching.stop)
        told.remark("loading the recogniser")
        apart = stack.enter_context(Apart(sheet.text))
        chosen = choose_from(asked.recogniser, asked.model, apart.open)
        told.remark(f"listening with {chosen.recogniser.name} ({chosen.why})")
        bridge = TimeBridge(began_mono_ns, began_utc_ns, delay_ns=round(asked.receiver_delay_s * _NANO))
        positions = Positions(str(asked.gpsd), bridge)
        if store is not None:
            told.remark(f"going on with the drive in {asked.out}")
            finish_left_over(store, chosen.recogniser, told.remark)
        microphone = Microphone(asked.microphone)
        stack.callback(microphone.close)
        session = Session(
            asked,
            told,
            stop=stop,
            inbox=inbox,
            positions=positions,
            language=Language(sheet.sheet.phrasebook),
            way=sheet.sheet.way,
        )
        mouth = Mouth(asked.readback, session.play, session.readback_trouble)
        stack.callback(mouth.close)
        hearing = Hearing(
            asked.out,
            microphone,
            chosen,
            name=asked.microphone,
            keep=asked.keep,
            inbox=inbox,
            before_opening=mouth.close,
        )
        mouth.open()
        session.take_early_fixes()
        if store is None:
            drive = Drive(bridge.utc_ns(time.monotonic_ns()), sheet.text)
            store = stack.enter_context(DriveStore.open_or_create(asked.out, drive))
        session.begin(store, hearing, mouth)
        session.run()
        told.remark("settling the whole drive")
        for issue in settle(store).issues:
            told.remark(f"note: {issue.message}")
        return summary_of(store)
