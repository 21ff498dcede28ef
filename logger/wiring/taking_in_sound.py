"""One sound file into a drive: cut into stretches, each recognised once and kept at once.

Every stretch becomes an utterance, so that a run that was interrupted knows what it has asked already. The sound of a
stretch is kept when the recogniser heard something in it; other people's talk and the road are not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Protocol

import numpy as np

from logger.core.segment import Segmenter
from logger.errors import StoreError
from logger.model import RATE_HZ, Issue, Recognition, Samples, SoundBlock, Source, Stretch, Utterance
from logger.ports import Recogniser
from logger.sound.clips import write_clip
from logger.sound.files import SoundFile
from logger.sound.kept_sound import CLIPS
from logger.store import DriveStore

Report = Callable[[int, int], None]
"""Told now and then: samples read so far, and stretches in which a call was heard."""


class Cutter(Protocol):
    """What cuts stretches out of a stream of blocks."""

    def feed(self, block: SoundBlock) -> tuple[Stretch, ...]:
        """Take the next block; return the stretches that are complete."""
        ...

    def close(self) -> tuple[Stretch, ...]:
        """Return what is still open at the end."""
        ...


def is_heard(store: DriveStore, source: Source, recogniser: str) -> bool:
    """Whether a source was taken in to its end and the recogniser was asked about each of its stretches."""
    return source.sample_count is not None and all(
        store.find_recognition(utterance.id, recogniser) is not None
        for utterance in _utterances_of(store, source)
    )


def take_in(
    store: DriveStore, source: Source, path: Path, recogniser: Recogniser, report: Report
) -> tuple[Source, tuple[Issue, ...]]:
    """Read a sound file to its end and keep what was heard in it.

    What the recogniser was asked before is not asked again. A source that was taken in to its end before keeps
    its stretches, so that another recogniser hears the very same.

    Returns:
        The finished source, and what was odd about the sound.

    Raises:
        SoundError: nothing of the file can be read.
        StoreError: the drive or a clip cannot be written.
    """
    sound = SoundFile(path)
    known = source.sample_count is not None
    cutter: Cutter = KnownStretches(_utterances_of(store, source)) if known else Segmenter()
    calls = end = 0
    for block in sound:
        calls += sum(hear_stretch(store, source, recogniser, stretch) for stretch in cutter.feed(block))
        end = block.first_sample + len(block.samples)
        report(end, calls)
    calls += sum(hear_stretch(store, source, recogniser, stretch) for stretch in cutter.close())
    report(end, calls)
    return store.finish_source(source.id, end), sound.issues


class KnownStretches:
    """Cuts the stretches of utterances that are known already out of a stream of blocks."""

    def __init__(self, utterances: Iterable[Utterance]) -> None:
        self._waiting = sorted(utterances, key=lambda each: each.first_sample, reverse=True)
        self._kept: Samples = np.zeros(0, np.int16)
        self._first = 0

    def feed(self, block: SoundBlock) -> tuple[Stretch, ...]:
        """Take the next block; return the stretches that are complete."""
        self._kept = np.concatenate((self._kept, block.samples))
        end = block.first_sample + len(block.samples)
        self._first = end - len(self._kept)
        done = []
        while self._waiting and self._waiting[-1].first_sample + self._waiting[-1].sample_count <= end:
            utterance = self._waiting.pop()
            begin = utterance.first_sample - self._first
            done.append(
                Stretch(utterance.first_sample, self._kept[begin : begin + utterance.sample_count].copy())
            )
        needed = min(self._waiting[-1].first_sample, end) if self._waiting else end
        self._kept = self._kept[needed - self._first :]
        return tuple(done)

    def close(self) -> tuple[Stretch, ...]:
        """Return nothing: known stretches lie wholly in the sound."""
        return ()


def hear_stretch(store: DriveStore, source: Source, recogniser: Recogniser, stretch: Stretch) -> bool:
    """Ask the recogniser about a stretch unless it was asked before; say whether a call was heard."""
    utterance = store.find_utterance(source.id, stretch.first_sample)
    if utterance is not None:
        before = store.find_recognition(utterance.id, recogniser.name)
        if before is not None:
            return bool(before.hypotheses)
    hypotheses = recogniser.recognise(stretch.samples)
    # The sound first: a row never names a clip that is not there yet.
    clip = keep_clip(store, source.id, stretch.first_sample, stretch.samples if hypotheses else None)
    with store.atomic():
        kept = store.add_utterance(
            source.id,
            stretch.first_sample,
            len(stretch.samples),
            source.start_ns + samples_ns(stretch.first_sample),
            clip,
        )
        store.add_recognition(Recognition(kept.id, recogniser.name, hypotheses))
    return bool(hypotheses)


def keep_clip(store: DriveStore, source_id: int, first_sample: int, samples: Samples | None) -> str:
    """Keep the sound of a stretch, if there is any to keep; return what its utterance calls it either way.

    Raises:
        StoreError: it cannot be written.
    """
    clip = f"{CLIPS}/{source_id:03d}-{first_sample:010d}.flac"
    if samples is not None:
        _make_folder(store.folder / CLIPS)
        write_clip(store.folder / clip, samples)
    return clip


def samples_ns(samples: int) -> int:
    """Return how long that many samples last."""
    return samples * 1_000_000_000 // RATE_HZ


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
    except OSError as error:
        raise StoreError(
            f"{folder}: cannot be made ({error.strerror}); choose a place you may write to"
        ) from error


def _utterances_of(store: DriveStore, source: Source) -> list[Utterance]:
    return [utterance for utterance in store.utterances() if utterance.source_id == source.id]
