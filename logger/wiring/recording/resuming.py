"""Going on with a drive: what a run that was killed left half done is brought to its end."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from logger.core.live import LiveReconciler
from logger.core.live_track import LiveTrack
from logger.core.segment import Segmenter
from logger.errors import OdovoxError
from logger.model import RATE_HZ, Recognition, Samples, SoundBlock, Source
from logger.ports import Recogniser
from logger.sound.clips import read_clip
from logger.sound.whole_sound import leftover, open_file_samples, pack, sound_files
from logger.store import DriveStore
from logger.wiring.taking_in_sound import hear_stretch

LIVE = ""
"""What stands for a content's hash in a source that was a microphone: nobody knows it when it begins."""
_PIECE = RATE_HZ


def finish_left_over(store: DriveStore, recogniser: Recogniser, tell: Callable[[str], None]) -> None:
    """Pack the sound that was being written, hear what was captured and not heard yet, and end the sources.

    A file that cannot be used is told and left as it is.

    Raises:
        StoreError: the drive cannot be written.
    """
    for source in store.sources():
        if source.sha256 == LIVE and source.sample_count is None:
            _hear_last_again(store, source, recogniser, tell)
            calls, end = _hear_rest(store, source, recogniser, tell)
            store.finish_source(source.id, end)
            if calls:
                tell(
                    f"{calls} call{'' if calls == 1 else 's'} heard in sound that an earlier run could not end with"
                )
    pack_left_over(store.folder, tell)


def pack_left_over(folder: Path, tell: Callable[[str], None]) -> None:
    """Make what was being written when a run ended into FLAC files."""
    for path in leftover(folder):
        try:
            pack(path)
        except OdovoxError as error:
            tell(f"{error}; it is left as it is")


def warm_up(live: LiveReconciler, store: DriveStore, track: LiveTrack) -> None:
    """Let the live model know what the drive said until now."""
    track.go_on_from(store.fixes())
    heard = {each.utterance_id: each for each in store.latest_recognitions()}
    spoken = [(each, heard[each.id]) for each in store.utterances() if each.id in heard]
    live.remember([pair for pair in spoken if pair[1].hypotheses], store.entries())


def _hear_last_again(
    store: DriveStore, source: Source, recogniser: Recogniser, tell: Callable[[str], None]
) -> None:
    """Hear the last call of a source once more, if it was answered quickly and those who are believed did not come to it."""
    known = [each for each in store.utterances() if each.source_id == source.id]
    last = max(known, key=lambda each: each.first_sample, default=None)
    if last is None or store.find_recognition(last.id, recogniser.name) is not None:
        return
    clip = store.folder / last.clip
    if not clip.exists():  # nothing was heard in it
        return
    try:
        samples = read_clip(clip)
    except OdovoxError as error:
        tell(f"{error}; what was heard in it at first stands")
        return
    recognition = Recognition(last.id, recogniser.name, recogniser.recognise(samples))
    with store.atomic():
        store.add_recognition(recognition)
        store.replace_entries_of((last.id,), ())  # they are of the quick answer


def _hear_rest(
    store: DriveStore, source: Source, recogniser: Recogniser, tell: Callable[[str], None]
) -> tuple[int, int]:
    """Hear what lies behind the last utterance of a source; return how many calls it had, and where the source ends."""
    known = [each for each in store.utterances() if each.source_id == source.id]
    heard_end = end = max((each.first_sample + each.sample_count for each in known), default=0)
    segmenter, calls = Segmenter(), 0
    for block in kept_blocks(store.folder, source.id, heard_end, None, tell):
        end = max(end, block.first_sample + len(block.samples))
        calls += sum(hear_stretch(store, source, recogniser, stretch) for stretch in segmenter.feed(block))
    calls += sum(hear_stretch(store, source, recogniser, stretch) for stretch in segmenter.close())
    return calls, end


def kept_blocks(
    folder: Path, source_id: int, begin: int, end: int | None, tell: Callable[[str], None]
) -> Iterator[SoundBlock]:
    """Yield the kept sound of a source from a sample on, up to another one (None: to its end), a second at a time."""
    seen: set[int] = set()
    for first, path in sound_files(folder, source_id):
        if first in seen or (end is not None and first >= end):
            continue  # the FLAC file and the WAV file it was made of, or too late
        seen.add(first)
        try:
            samples: Samples = read_clip(path) if path.suffix == ".flac" else open_file_samples(path)
        except OdovoxError as error:
            tell(f"{error}; what was said in it is not heard")
            continue
        samples = samples[: None if end is None else end - first]
        for at in range(max(0, begin - first), len(samples), _PIECE):
            yield SoundBlock(first + at, samples[at : at + _PIECE])
