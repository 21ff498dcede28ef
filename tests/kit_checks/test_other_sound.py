"""The kit's sound without calls: nothing in it is one, its groups share nothing, and it follows from seeds.

What needs a Debian package fetched (the novels, the music) is not run here; how a novel is read is checked on one
made by hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice
from pathlib import Path

import numpy as np
import pytest
import soundfile
from other_sound import GROUPS, Placed, books, cabin, collecting, music, number_talk, singing
from other_sound.hearing import Heard, stretches
from other_sound.rendering import rendered
from rehearsed.records import load, save
from speechkit import RATE_HZ, calls

from logger.model import Stretch

EACH_GROUP = pytest.mark.parametrize("group", sorted(GROUPS))


@EACH_GROUP
def test_no_words_of_ours_hold_the_lead_word(group: str) -> None:
    """Sentences and songs can hold no call; every template finds its slots filled."""
    told = tuple(islice(number_talk.sentences(group, 1), 600))

    assert not any(calls.LEAD in text for text in told + singing.LYRICS[group])
    assert not any(mark in text for text in told for mark in "{}0123456789")


def test_groups_share_no_frame_novel_music_song_or_voice() -> None:
    """What is chosen on one group is not seen in the other."""
    frames = [{text for theme in number_talk.frames(group).values() for text in theme} for group in GROUPS]
    shared = [
        set.intersection(*(set(parts[group]) for group in GROUPS))
        for parts in (books.NOVELS, music.PACKAGES, singing.LYRICS)
    ]

    assert not frames[0] & frames[1]
    assert shared == [set(), set(), set()]
    assert not {v.speaker for v in GROUPS["tuning"].voices} & {v.speaker for v in GROUPS["report"].voices}
    assert all(len(theme) >= 4 for group in GROUPS for theme in number_talk.frames(group).values())


def test_sentences_follow_from_the_seed() -> None:
    """The same seed tells the same; another does not."""
    one, same, other = (tuple(islice(number_talk.sentences("tuning", seed), 20)) for seed in (5, 5, 6))

    assert one == same
    assert one != other


def test_a_paragraph_is_split_where_a_reader_breathes() -> None:
    """Titles do not end a sentence, marks for print are not read, and long sentences end at semicolons."""
    long = "It was so; " + "and so on, " * 40 + "to the end."

    assert books.sentences('"You _must_ know," said Mr. Hill--"I think." So it was! * * *') == (
        'You must know," said Mr Hill, "I think.',
        "So it was! * * *",
    )
    assert len(books.sentences(long)) == 2


def test_strings_of_r_are_read() -> None:
    """A character vector as R writes it gives its strings, and nothing else is taken for one."""

    def number(value: int) -> bytes:
        return value.to_bytes(4)

    head = b"X\n" + number(3) + number(0x40201) + number(0x30500) + number(5) + b"UTF-8"
    text = b"".join(number(0x40009) + number(len(each)) + each for each in (b"EMMA", b""))

    assert books.strings(head + number(16) + number(2) + text) == ["EMMA", ""]
    with pytest.raises(ValueError, match="character vector"):
        books.strings(head + number(13) + number(2) + text)
    with pytest.raises(ValueError, match="as R writes"):
        books.strings(b"RDX3")


def test_what_happens_in_a_cabin_is_bounded_and_in_order() -> None:
    """Every sound is finite, none is louder than some bumps are, and they come in order."""
    heard = list(cabin.happenings(3, 1200))
    starts = [at for at, _ in heard]

    assert starts == sorted(starts)
    assert 30 < len(heard) < 90
    assert all(np.isfinite(sound).all() and np.abs(sound).max() < 12 for _, sound in heard)


def test_a_song_has_its_words_where_it_says() -> None:
    """The singing makes the sound stronger there, and the same seed gives the same song."""
    voice = GROUPS["tuning"].voices[3]
    sound, placed = singing.song("tuning", voice, 3, lines=2)
    again, _ = singing.song("tuning", voice, 3, lines=2)
    sung = np.concatenate([sound[each.first_sample : each.end_sample] for each in placed])
    before = sound[: placed[0].first_sample]

    assert np.array_equal(sound, again)
    assert len(placed) == 2
    assert placed[-1].end_sample < len(sound)
    assert np.mean(sung**2) > 1.5 * np.mean(before**2)


def test_noise_is_as_long_as_asked_and_from_its_seed(tmp_path: Path) -> None:
    """Two renderings are the same sound."""
    group = replace(GROUPS["tuning"], length_s=45.5)
    for name in ("one.flac", "two.flac"):
        assert rendered("noise", group, tmp_path / name) == ()
    one, two = (soundfile.read(tmp_path / name, dtype="int16")[0] for name in ("one.flac", "two.flac"))

    assert len(one) == round(45.5 * RATE_HZ)
    assert np.array_equal(one, two)


def test_an_interrupted_run_goes_on_and_the_record_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was heard already is not asked again, a line cut off is, and the result reads back as it was written."""
    tones = np.zeros(20 * RATE_HZ)
    for at in (8, 14):
        burst = np.arange(RATE_HZ) / RATE_HZ
        tones[at * RATE_HZ : (at + 1) * RATE_HZ] = 3000 * np.sin(2 * np.pi * 700 * burst)
    tones += 30 * np.random.default_rng(1).standard_normal(len(tones))
    path, kept = tmp_path / "music.flac", tmp_path / "kept.jsonl"
    soundfile.write(path, tones.astype(np.int16), RATE_HZ)
    asked: list[int] = []

    def hear(wanted: Iterator[Stretch], jobs: int) -> Iterator[Heard]:
        for each in wanted:
            asked.append(each.first_sample)
            yield Heard(each.first_sample, len(each.samples), (("how far", -1.5),), (), 0.1, 0.0)

    monkeypatch.setattr(collecting, "hear", hear)
    first = collecting.heard_in(path, kept, 1)
    kept.write_text(kept.read_text()[:-9])
    second = collecting.heard_in(path, kept, 1)
    words = (Placed(8 * RATE_HZ, 9 * RATE_HZ, "la la"),)
    drive = collecting.as_drive("music", GROUPS["tuning"], second, words)
    save(tmp_path / "out.jsonl.gz", [drive])

    assert [each.first_sample for each in first] == [each.first_sample for each in stretches(path)]
    assert asked == [each.first_sample for each in first] + [first[-1].first_sample]
    assert first == second
    assert list(load(tmp_path / "out.jsonl.gz")) == [drive]
    assert [call.text for call in drive.calls] == ["la la", ""]
