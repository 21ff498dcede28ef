"""The microphone, and whether it hears what the loudspeaker plays."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from logger.core.captured import joined, moment_mono_ns
from logger.core.fitness.findings import Check, Figure, Finding, State, failed, untried
from logger.core.fitness.sound import judge_clipping, judge_level, judge_readback, readback_off
from logger.core.levels import SILENCE_DBFS, rms_dbfs
from logger.core.sweep import find, rising_tone
from logger.errors import SoundError
from logger.model import RATE_HZ, CapturedBlock, Samples
from logger.sound.microphone import Microphone
from logger.sound.portaudio import devices
from logger.sound.speaker import Speaker
from logger.voices.espeak import speak
from logger.wiring.checking.asked import Asked, Told

_SPOKEN = "checkpoint sixty three percent"
"""What the voice says in a check: a call, as any read-back is about one."""
_AFTER_S = 1.0
"""How long after its end a sound may still be on its way through loudspeaker, air and microphone."""
_METER_S = 0.1
_HELD_S = 1.0
_MOST_NAMED = 4


@dataclass(slots=True)
class Captured:
    """What the microphone gave while its level was shown; empty where there was none."""

    samples: Samples


def check_listening(asked: Asked, told: Told, captured: Captured) -> Iterator[Finding]:
    """Yield the findings on the microphone, its sound and the read-back; leaves the sound in `captured`."""
    try:
        microphone = Microphone(asked.microphone)
    except SoundError as error:
        yield from _no_microphone(error)
        yield _readback(asked, told, None)
        return
    with microphone:
        try:
            told.doing(
                f"listening for {asked.listen_s:g} s: say a call, such as 'checkpoint sixty three percent'"
            )
            blocks = _listen(microphone, asked.listen_s, told)
        except SoundError as error:
            yield from _no_microphone(error)
            microphone.close()
            yield _readback(asked, told, None)
            return
        captured.samples = joined(blocks)
        others = tuple(device.name for device in devices("input") if device != microphone.device)
        figures: dict[str, Figure] = {
            "name": microphone.device.name,
            "others": others,
            "rate_hz": microphone.rate_hz,
            "stamped_by_device": microphone.stamped_by_device,
        }
        beside = ", ".join(f"'{name}'" for name in others[:_MOST_NAMED])
        beside += ", ..." if len(others) > _MOST_NAMED else ""
        what = f"'{microphone.device.name}' at {microphone.rate_hz / 1000:g} kHz"
        what += f" (for --microphone there are also {beside})" if others else ""
        yield Finding(Check.MICROPHONE, State.OK, what, "", figures)
        yield judge_level(captured.samples, microphone.lost_samples)
        yield judge_clipping(captured.samples)
        yield _readback(asked, told, microphone)


def _no_microphone(error: SoundError) -> Iterator[Finding]:
    yield failed(Check.MICROPHONE, str(error))
    yield untried(Check.LEVEL, Check.MICROPHONE)
    yield untried(Check.CLIPPING, Check.MICROPHONE)


def _listen(microphone: Microphone, seconds: float, told: Told) -> list[CapturedBlock]:
    """Capture for a while, counted in sound and not in time, and show its level.

    Raises:
        SoundLostError: the microphone gives no more sound.
    """
    blocks: list[CapturedBlock] = []
    wanted = round(seconds * RATE_HZ)
    count, fresh = 0, 0
    held_dbfs, held_at = SILENCE_DBFS, 0
    for block in microphone.blocks():
        blocks.append(block)
        count += len(block.samples)
        fresh += len(block.samples)
        if fresh >= _METER_S * RATE_HZ:
            level_dbfs = rms_dbfs(joined(blocks[-4:])[-fresh:])
            if level_dbfs >= held_dbfs or count - held_at > _HELD_S * RATE_HZ:
                held_dbfs, held_at = level_dbfs, count
            told.level(level_dbfs, held_dbfs, max(0.0, (wanted - count) / RATE_HZ))
            fresh = 0
        if count >= wanted:
            break
    return blocks


def _readback(asked: Asked, told: Told, microphone: Microphone | None) -> Finding:
    """Play what is read back, and listen for it where there is a microphone."""
    if asked.readback == "off":
        return readback_off()
    told.doing(f"playing the {asked.readback}")
    try:
        sound = speak(_SPOKEN) if asked.readback == "voice" else rising_tone()
        with Speaker() as speaker:
            blocks = _play(speaker, sound, microphone)
    except SoundError as error:
        return failed(Check.READBACK, f"{error}; or drive without it: --readback off")
    if blocks is None:
        return judge_readback(asked.readback, None, None)
    captured, asked_mono_ns = blocks
    found = find(sound, joined(captured))
    delay_s = None
    if found.is_there:
        delay_s = (moment_mono_ns(captured, found.first_sample) - asked_mono_ns) / 1e9
    return judge_readback(asked.readback, found, delay_s)


def _play(
    speaker: Speaker, sound: Samples, microphone: Microphone | None
) -> tuple[list[CapturedBlock], int] | None:
    """Play a sound and return what the microphone gave from then on, and when playing was asked for.

    Raises:
        SoundError: the loudspeaker takes no sound, or the microphone gives none.
    """
    if microphone is None:
        speaker.play(sound)
        speaker.wait()
        time.sleep(len(sound) / RATE_HZ / 2)  # what has been handed over has still to be heard
        return None
    # What waits to be read was heard before; a moment more, since a loudspeaker that was just opened may click.
    until_s = time.monotonic() + 0.3
    while time.monotonic() < until_s:
        microphone.read(0.05)
    asked_mono_ns = time.monotonic_ns()
    speaker.play(sound)
    blocks: list[CapturedBlock] = []
    limit_ns = asked_mono_ns + round((len(sound) / RATE_HZ + _AFTER_S) * 1e9)
    while time.monotonic_ns() < limit_ns:
        block = microphone.read(0.1)
        if block is not None:
            blocks.append(block)
    speaker.wait()
    if not blocks:
        return [CapturedBlock(0, np.zeros(len(sound), np.int16), asked_mono_ns)], asked_mono_ns
    return blocks, asked_mono_ns
