"""The sound of a reviewed drive: of a call, with what was around it, and of any moment."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from logger.errors import SoundError
from logger.model import RATE_HZ, Samples, Utterance
from logger.sound.kept_sound import has_whole_sound, read_kept_clip, read_whole
from logger.wiring.reviewing.drive import Heard
from logger.wiring.taking_in_sound import samples_ns

AROUND_S = 2.0
"""So much is heard before and after a call, where the whole sound was kept."""
MOST_S = 60.0
"""More is never played at once."""

_NANO = 1_000_000_000


@dataclass(frozen=True, slots=True)
class Stretch:
    """Sound of the drive, and when on the drive clock it begins."""

    samples: Samples
    start_ns: int

    @property
    def seconds(self) -> float:
        """How long it is."""
        return len(self.samples) / RATE_HZ


def call_sound(folder: Path, utterance: Utterance, *, around: bool = False) -> Stretch:
    """Return the sound of a call; with `around` also the two seconds before and after it, where those were kept.

    Raises:
        SoundError: none was kept, or it cannot be read.
    """
    if around and has_whole_sound(folder, utterance.source_id):
        extra = round(AROUND_S * RATE_HZ)
        first = max(0, utterance.first_sample - extra)
        count = utterance.first_sample + utterance.sample_count + extra - first
        begins, samples = read_whole(folder, utterance.source_id, first, count)
        if len(samples):
            return Stretch(samples, utterance.start_ns + samples_ns(begins - utterance.first_sample))
    return Stretch(read_kept_clip(folder, utterance.clip), utterance.start_ns)


def sound_at(folder: Path, heard: Heard, at_ns: int, seconds: float) -> Stretch:
    """Return the sound from a moment of the drive on, from whatever was kept then.

    Raises:
        SoundError: nothing was kept of that moment, or it cannot be read.
    """
    seconds = min(max(seconds, 0.0), MOST_S)
    for source in heard.sources:
        if not has_whole_sound(folder, source.id):
            continue
        # Samples are counted, and a device's clock is not ours: the nearest call tells better than the beginning.
        own = [each for each in heard.utterances if each.source_id == source.id]
        near = min(own, key=lambda each: abs(each.start_ns - at_ns), default=None)
        anchor_ns, anchor = (source.start_ns, 0) if near is None else (near.start_ns, near.first_sample)
        first = anchor + (at_ns - anchor_ns) * RATE_HZ // _NANO
        begins, samples = read_whole(folder, source.id, max(0, first), round(seconds * RATE_HZ))
        if len(samples):
            return Stretch(samples, anchor_ns + samples_ns(begins - anchor))
    for utterance in heard.utterances:
        end_ns = utterance.start_ns + samples_ns(utterance.sample_count)
        if utterance.start_ns < at_ns + round(seconds * _NANO) and at_ns < end_ns:
            stretch = call_sound(folder, utterance)
            first = max(0, (at_ns - utterance.start_ns) * RATE_HZ // _NANO)
            part = stretch.samples[first : first + round(seconds * RATE_HZ)]
            return Stretch(part, utterance.start_ns + samples_ns(first))
    raise SoundError(
        "no sound was kept of this moment: only calls are, unless a drive is recorded with --keep all"
    )
