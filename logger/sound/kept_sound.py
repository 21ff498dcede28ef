"""Any stretch of a drive's kept sound: from the whole sound of a live drive, or from one clip.

A drive folder may come from somebody else, so a file is opened only inside the folders that odovox keeps sound in, and
never through a link.
"""

from __future__ import annotations

import io
import stat
from pathlib import Path

import numpy as np

from logger.errors import SoundError
from logger.model import RATE_HZ, Samples
from logger.sound.clips import read_clip
from logger.sound.whole_sound import FOLDER, open_file_samples, sound_files

CLIPS = "clips"


def has_whole_sound(drive: Path, source_id: int) -> bool:
    """Whether anything of the whole sound of a source was kept."""
    return bool(sound_files(drive, source_id))


def read_whole(drive: Path, source_id: int, first_sample: int, count: int) -> tuple[int, Samples]:
    """Return a stretch of the whole sound of a source, as far as it was kept; what is missing inside it is silence.

    Returns:
        The number of its first sample, and its samples; none where nothing of the stretch was kept.

    Raises:
        SoundError: a file of it cannot be read.
    """
    files = sound_files(drive, source_id)
    pieces: list[tuple[int, Samples]] = []
    for number, (begins, path) in enumerate(files):
        next_begins = files[number + 1][0] if number + 1 < len(files) else None
        if begins >= first_sample + count or (next_begins is not None and next_begins <= first_sample):
            continue
        skipped = max(0, first_sample - begins)
        samples = _part_of(_inside(drive, path, FOLDER), skipped, first_sample + count - begins - skipped)
        if len(samples):
            pieces.append((begins + skipped, samples))
    if not pieces:
        return first_sample, np.zeros(0, np.int16)
    start = pieces[0][0]
    end = max(begins + len(samples) for begins, samples in pieces)
    joined = np.zeros(end - start, np.int16)
    for begins, samples in pieces:
        joined[begins - start : begins - start + len(samples)] = samples
    return start, joined


def read_kept_clip(drive: Path, clip: str) -> Samples:
    """Return the samples of a clip by its path inside the drive folder.

    Raises:
        SoundError: none was kept, it cannot be read, or the path leads out of the folder of clips.
    """
    if not clip:
        raise SoundError("no sound was kept of this call")
    return read_clip(_inside(drive, drive / clip, CLIPS))


def as_wav(samples: Samples) -> bytes:
    """Return samples as a WAV file of 16 bits."""
    import soundfile  # heavy

    coded = io.BytesIO()
    soundfile.write(coded, samples, RATE_HZ, format="WAV", subtype="PCM_16")
    return coded.getvalue()


def peaks_of(samples: Samples, count: int) -> tuple[int, ...]:
    """Return the loudest of each of `count` equal parts, in percent of full scale."""
    if not len(samples):
        return (0,) * count
    edges = np.linspace(0, len(samples), count + 1).astype(np.int64)
    # reduceat takes the one sample at an edge where a part is empty.
    starts = np.minimum(edges[:-1], len(samples) - 1)
    loudest = np.maximum.reduceat(np.abs(samples.astype(np.int32)), starts)
    return tuple(round(100 * value / 32768) for value in loudest.tolist())


def _inside(drive: Path, path: Path, folder: str) -> Path:
    place = drive / folder
    if path.parent != place:
        raise SoundError(f"{path}: is not in {place}, where this sound must be; it is not opened")
    try:
        mode = path.lstat().st_mode
        linked = place.is_symlink()
    except OSError as error:
        raise SoundError(
            f"{path}: cannot be read ({error.strerror}); is the drive folder complete?"
        ) from error
    if linked or not stat.S_ISREG(mode):
        raise SoundError(f"{path}: is a link or no file; it is not opened")
    return path


def _part_of(path: Path, skipped: int, count: int) -> Samples:
    if path.suffix == ".wav":
        return open_file_samples(path)[skipped : skipped + count]
    import soundfile  # heavy

    try:
        with soundfile.SoundFile(path) as file:
            if file.samplerate != RATE_HZ or file.channels != 1:
                raise SoundError(
                    f"{path}: is not mono at {RATE_HZ} Hz; restore it from a copy of the drive folder"
                )
            file.seek(min(skipped, file.frames))
            samples: Samples = file.read(count, dtype="int16")
            return samples
    except (OSError, soundfile.LibsndfileError) as error:
        raise SoundError(f"{path}: is damaged; restore it from a copy of the drive folder") from error
