"""A drive whose database is damaged -> a new drive folder with all that can still be read, and what can be heard again."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from grammar import Language
from logger.core.mending import ClipName, Gap, Mended, mend
from logger.core.segment import Segmenter
from logger.errors import OdovoxError, SoundError, StoreError
from logger.model import Drive, Issue, Recognition
from logger.ports import Recogniser
from logger.sound import whole_sound
from logger.sound.clips import read_clip
from logger.sound.kept_sound import CLIPS
from logger.store import DriveStore
from logger.store.lock import recorder_of
from logger.store.restoring import restore
from logger.store.salvaging import salvage
from logger.wiring.choosing import Chosen
from logger.wiring.ingest import Listener
from logger.wiring.reconciling import Summary, language_of, settle, summary_of
from logger.wiring.recording.resuming import LIVE, kept_blocks
from logger.wiring.taking_in_sound import hear_stretch


@dataclass(frozen=True, slots=True)
class Recovered:
    """What became of a damaged drive.

    Attributes:
        summary: what the new one holds.
        counts: rows recovered, by the name of one.
        lost: how many are lost at least, before anything was heard again.
        heard: clips heard again, and calls found in kept sound.
        astray: files of sound that no row places in time any more.
    """

    summary: Summary
    counts: Mapping[str, int]
    lost: Mapping[str, int]
    heard: int
    astray: int

    @property
    def needs_human(self) -> bool:
        """Whether something is lost, or the drive itself needs a human."""
        return self.summary.needs_human or any(self.lost.values()) or bool(self.astray)


def recover(
    damaged: Path, new: Path, *, choose: Callable[[Language], Chosen], listener: Listener
) -> Recovered:
    """Make a new drive of what is left of a damaged one, which stays as it is.

    Raises:
        OdovoxError: the damaged one cannot be read at all, or is being recorded; there is something at `new` already,
            or it cannot be written; the recogniser is needed and cannot be used.
    """
    if recorder_of(damaged) is not None:
        raise StoreError(f"{damaged} is being recorded into; end that first")
    if new.exists() and (not new.is_dir() or any(new.iterdir())):
        raise StoreError(f"{new} is there already; name a new folder")
    found = salvage(damaged)
    if found.drive is None:
        raise StoreError(
            f"{damaged}: when the drive began is lost, and without it nothing has its moment; its sound can still be played, "
            f"and ingested into a new folder"
        )
    clips = _clips(damaged, listener)
    mended = mend(found, clips)
    # All of it is there under its name, or nothing.
    part = new.with_name(f".{new.name}.part")
    try:
        shutil.rmtree(part, ignore_errors=True)
        part.mkdir(mode=0o700, parents=True)
        for name in (CLIPS, whole_sound.FOLDER):
            _link_all(damaged / name, part / name)
    except OSError as error:
        raise StoreError(
            f"{part} cannot be written ({error.strerror}); choose another place for --out"
        ) from error
    try:
        recovered = _fill(part, found.drive, mended, choose, listener)
        if new.exists():
            new.rmdir()
        part.rename(new)
    except OSError as error:
        raise StoreError(
            f"{new} cannot be made ({error.strerror}); choose another place for --out"
        ) from error
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return recovered


def _fill(
    folder: Path, drive: Drive, mended: Mended, choose: Callable[[Language], Chosen], listener: Listener
) -> Recovered:
    facts = mended.facts
    restore(folder, drive, facts)
    placed = {f"{number:03d}" for number in facts.sources}
    astray = sum(path.name[:3] not in placed for path in (folder / whole_sound.FOLDER).glob("[0-9]*"))
    with DriveStore.open(folder) as store:
        heard = 0
        if mended.unheard or mended.gaps:
            chosen = choose(language_of(store))
            listener.remark(f"listening with {chosen.recogniser.name} ({chosen.why}) to what was lost")
            heard = _hear_clips(store, mended.unheard, chosen.recogniser)
            heard += _hear_gaps(store, mended.gaps, chosen.recogniser, listener)
        _end_live_sources(store)
        lost = {name: count for name, count in mended.lost.items() if count}
        if lost or astray:
            store.add_issue(
                Issue("recovered", f"recovered from a damaged drive: {lost_text(lost, astray, heard)}")
            )
        for issue in settle(store).issues:
            listener.odd(issue)
        counts = {
            "stretch": len(facts.utterances),
            "answer": len(facts.recognitions),
            "position": len(facts.fixes),
            "decision": len(facts.decisions),
            "remark": len(facts.issues),
        }
        return Recovered(summary_of(store), counts, lost, heard, astray)


def lost_text(lost: Mapping[str, int], astray: int, heard: int) -> str:
    """Return what could not be read as words, and what was heard again in its place."""
    missing = [counted_text(lost)] if lost else []
    if astray:
        missing.append(f"the moments of {counted_text({'file': astray})} of sound")
    text = (
        f"could not be read: at least {', '.join(missing)}"
        if missing
        else "all that was stored could be read"
    )
    return f"{text}; heard again: {counted_text({'stretch': heard})}" if heard else text


def counted_text(counts: Mapping[str, int]) -> str:
    """Return counts as words, without those of nothing: "1 stretch, 12 answers"."""
    return ", ".join(
        f"{count} {name}{'' if count == 1 else 'es' if name.endswith('ch') else 's'}"
        for name, count in counts.items()
        if count
    )


def _clips(folder: Path, listener: Listener) -> dict[ClipName, tuple[str, int]]:
    """Return the clips that can be played; what cannot is told."""
    found: dict[ClipName, tuple[str, int]] = {}
    for path in sorted((folder / CLIPS).glob("*.flac")):
        source, _, first = path.stem.partition("-")
        if not (source.isdecimal() and first.isdecimal()):
            continue
        try:
            found[int(source), int(first)] = f"{CLIPS}/{path.name}", len(read_clip(path))
        except SoundError as error:
            listener.odd(Issue("clip_unreadable", str(error)))
    return found


def _link_all(old: Path, new: Path) -> None:
    """Put all files of a folder into another one, without a second copy of them where the disk can do that.

    Nothing writes into a file of sound that is complete: who replaces one makes a new file. One that is not complete is copied.
    """
    new.mkdir(mode=0o700)
    for path in sorted(old.glob("*")):
        if path.suffix == ".wav":
            shutil.copyfile(path, new / path.name)
            continue
        try:
            os.link(path, new / path.name)
        except OSError:
            shutil.copyfile(path, new / path.name)


def _hear_clips(store: DriveStore, unheard: tuple[int, ...], recogniser: Recogniser) -> int:
    clips = {each.id: each.clip for each in store.utterances()}
    for number in unheard:
        samples = read_clip(store.folder / clips[number])
        store.add_recognition(Recognition(number, recogniser.name, recogniser.recognise(samples)))
    return len(unheard)


def _hear_gaps(store: DriveStore, gaps: tuple[Gap, ...], recogniser: Recogniser, listener: Listener) -> int:
    """Hear the kept sound in which stretches were lost; return how many calls there were."""
    sources = {each.id: each for each in store.sources()}
    calls = 0
    for gap in gaps:
        source = sources[gap.source_id]
        segmenter = Segmenter()
        for block in kept_blocks(store.folder, source.id, gap.first_sample, gap.end, listener.remark):
            calls += sum(hear_stretch(store, source, recogniser, each) for each in segmenter.feed(block))
        calls += sum(hear_stretch(store, source, recogniser, each) for each in segmenter.close())
    return calls


def _end_live_sources(store: DriveStore) -> None:
    """End the sources that were microphones where their sound ends, and pack the sound that was being written."""
    for path in whole_sound.leftover(store.folder):
        with suppress(OdovoxError):
            whole_sound.pack(path)
    ends: dict[int, int] = {}
    for each in store.utterances():
        ends[each.source_id] = max(ends.get(each.source_id, 0), each.first_sample + each.sample_count)
    for source in store.sources():
        if source.sha256 == LIVE and source.sample_count is None:
            files = whole_sound.sound_files(store.folder, source.id)
            end = ends.get(source.id, 0)
            if files:
                with suppress(SoundError):
                    end = max(end, files[-1][0] + len(read_clip(files[-1][1])))
            store.finish_source(source.id, end)
