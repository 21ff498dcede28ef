"""Facts of a drive of which some are lost, made to fit together again: what follows from others is put back. Pure.

What is behind it: a stretch of sound is named by its source and first sample in three places (its row, an index, the file
of its clip); an answer that is lost is in its clip, to be heard again; and numbers of rows have no gaps, so that gaps tell
what is lost and where.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from logger.model import RATE_HZ, Decision, Drive, Fix, Hypothesis, Issue, Source, Utterance

_NANO = 1_000_000_000
_MOST_LOST = 20_000
"""So many rows in a row are never lost: two hundred pages and more. What seems so is a number that damage has made."""
_LONGER_BEGINS = RATE_HZ // 5
"""A longer stretch that holds another begins no earlier than this many samples before it."""

_Row = TypeVar("_Row")

ClipName = tuple[int, int]
"""A source's number and the first sample."""


@dataclass(slots=True)
class Facts:
    """The facts of a drive, each under the number (or numbers) of its row.

    Attributes:
        drive: when it began and its sheet; None where that is lost.
        sources: the length is None where it is not known, the name "" where it is lost.
        utterances: those known completely.
        begun: source and first sample of each utterance, also of those of which no more is known.
        recognitions: utterance and recogniser.
        hypotheses: by recognition and rank.
        tracks: name and key.
        fixes: by track and number.
        longer: the longer utterance, by the one that it holds.
    """

    drive: Drive | None = None
    sources: dict[int, Source] = field(default_factory=dict)
    utterances: dict[int, Utterance] = field(default_factory=dict)
    begun: dict[int, ClipName] = field(default_factory=dict)
    recognitions: dict[int, tuple[int, str]] = field(default_factory=dict)
    hypotheses: dict[tuple[int, int], Hypothesis] = field(default_factory=dict)
    tracks: dict[int, tuple[str, str]] = field(default_factory=dict)
    fixes: dict[tuple[int, int], Fix] = field(default_factory=dict)
    decisions: dict[int, Decision] = field(default_factory=dict)
    issues: dict[int, Issue] = field(default_factory=dict)
    longer: dict[int, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Gap:
    """Sound that may hold what was lost: from a sample of a source on, up to another one or (None) to its end."""

    source_id: int
    first_sample: int
    end: int | None


@dataclass(frozen=True, slots=True)
class Mended:
    """Facts that fit together.

    Attributes:
        facts: no row refers to one that is not there.
        unheard: the utterances whose answers are lost and whose clips are there.
        gaps: where sound may hold utterances that are lost.
        lost: how many rows are not in the facts, by the name of one: those that a gap between numbers tells of, so at least
            as many.
    """

    facts: Facts
    unheard: tuple[int, ...]
    gaps: tuple[Gap, ...]
    lost: Mapping[str, int]


def mend(found: Facts, clips: Mapping[ClipName, tuple[str, int]]) -> Mended:
    """Return what was found, made to fit together.

    Args:
        found: what there is; it is not changed.
        clips: the clips that can be played, each with what utterances call it and how many samples it has.
    """
    found = _without_doubles(found)
    sources = _sources(found)
    utterances = _utterances(found, sources, clips)
    last = _last({*utterances, *found.begun, *(each for each, _ in found.recognitions.values())})
    lost = set(range(1, last + 1)) - set(utterances)
    for name in sorted(clips.keys() - {(each.source_id, each.first_sample) for each in utterances.values()}):
        if name[0] in sources:
            last += 1
            utterances[last] = _from_clip(last, name, clips[name], utterances, sources)
    playable = {number for number, each in utterances.items() if _name(each) in clips}
    recognitions, hypotheses = _answers(found, utterances, playable)
    longer = {one: other for one, other in found.longer.items() if one in utterances and other in utterances}
    longer |= {one: other for one, other in _holding(utterances) if one not in longer}
    tracks = dict(found.tracks)
    for track in {track for track, _ in found.fixes} - set(tracks):
        tracks[track] = ("", f"recovered-{track}")
    answered = {utterance for utterance, _ in recognitions.values()}
    facts = Facts(
        drive=found.drive,
        sources={
            number: replace(each, name=each.name or "sound whose name is lost")
            for number, each in sources.items()
        },
        utterances=utterances,
        recognitions=recognitions,
        hypotheses=hypotheses,
        tracks={
            number: (name or "positions whose origin is lost", key) for number, (name, key) in tracks.items()
        },
        fixes=dict(found.fixes),
        # One that withdraws what is lost has nothing left to withdraw.
        decisions={
            number: each
            for number, each in found.decisions.items()
            if each.withdraws is None or each.withdraws in found.decisions
        },
        issues=dict(found.issues),
        longer=longer,
    )
    return Mended(
        facts,
        unheard=tuple(sorted(playable - answered - set(longer))),
        gaps=tuple(dict.fromkeys(_gaps(utterances, sources, lost))),
        lost={
            "stretch": len(lost),
            "answer": _missing(found.recognitions) + len(found.recognitions.keys() - recognitions.keys()),
            "position": _missing_fixes(found),
            "decision": _missing(found.decisions),
            "remark": _missing(found.issues),
        },
    )


def _without_doubles(found: Facts) -> Facts:
    """Leave out what is there under two numbers, of which damage has made one: of answers those without words, else the later."""
    tracks: dict[int, list[int]] = {}
    for track, number in found.fixes:
        tracks.setdefault(track, []).append(number + 1)
    ends = {track: 1 + _last(numbers) for track, numbers in tracks.items() if track <= _MOST_LOST}
    answered = {number for number, _ in found.hypotheses}
    by_words = sorted(found.recognitions, key=lambda number: (number not in answered, number))
    return replace(
        found,
        sources=_once(found.sources, lambda each: (each.sha256, each.start_ns)),
        utterances=_once(found.utterances, _name),
        begun=_once(found.begun, lambda name: name),
        recognitions=_once({number: found.recognitions[number] for number in by_words}, lambda each: each),
        tracks=_once(found.tracks, lambda track: track[1]),
        issues=_once(found.issues, lambda each: each),
        decisions=_once(found.decisions, lambda each: each.id),
        fixes={key: each for key, each in found.fixes.items() if key[1] < ends.get(key[0], 0)},
    )


def _last(numbers: Iterable[int]) -> int:
    """Return the last of the numbers that can be true: none comes so far behind the one before."""
    last = 0
    for number in sorted(numbers):
        if number - last > _MOST_LOST:
            break
        last = number
    return last


def _once(rows: Mapping[int, _Row], key_of: Callable[[_Row], Hashable]) -> dict[int, _Row]:
    """Return the rows whose number can be true, of those with the same key only the first."""
    first: dict[Hashable, int] = {}
    last = _last(rows)
    for number, row in rows.items():
        if number <= last:
            first.setdefault(key_of(row), number)
    return {number: rows[number] for number in sorted(first.values())}


def _name(utterance: Utterance) -> ClipName:
    return utterance.source_id, utterance.first_sample


def _missing(rows: Mapping[int, object]) -> int:
    return max(rows, default=0) - len(rows)


def _missing_fixes(found: Facts) -> int:
    ends: dict[int, int] = {}
    for track, number in found.fixes:
        ends[track] = max(ends.get(track, 0), number + 1)
    return sum(ends.values()) - len(found.fixes)


def _sources(found: Facts) -> dict[int, Source]:
    """Return the sources, also those of which only what was heard in them tells."""
    sources = dict(found.sources)
    for utterance in found.utterances.values():
        if utterance.source_id not in sources:
            start_ns = utterance.start_ns - utterance.first_sample * _NANO // RATE_HZ
            sources[utterance.source_id] = Source(utterance.source_id, "", "", start_ns, None)
    return sources


def _utterances(
    found: Facts, sources: Mapping[int, Source], clips: Mapping[ClipName, tuple[str, int]]
) -> dict[int, Utterance]:
    utterances = {number: each for number, each in found.utterances.items() if each.source_id in sources}
    for number, name in found.begun.items():
        if number not in utterances and name in clips and name[0] in sources:
            utterances[number] = _from_clip(number, name, clips[name], found.utterances, sources)
    return utterances


def _from_clip(
    number: int,
    name: ClipName,
    clip: tuple[str, int],
    utterances: Mapping[int, Utterance],
    sources: Mapping[int, Source],
) -> Utterance:
    """Return the utterance of a clip; its moment is counted in samples from the nearest one that is known."""
    source_id, first = name
    near = min(
        (each for each in utterances.values() if each.source_id == source_id),
        key=lambda each: abs(each.first_sample - first),
        default=None,
    )
    at, at_ns = (0, sources[source_id].start_ns) if near is None else (near.first_sample, near.start_ns)
    start_ns = at_ns + (first - at) * _NANO // RATE_HZ
    return Utterance(number, source_id, first, clip[1], start_ns, clip[0])


def _answers(
    found: Facts, utterances: Mapping[int, Utterance], playable: set[int]
) -> tuple[dict[int, tuple[int, str]], dict[tuple[int, int], Hypothesis]]:
    """Return the answers that are whole, and what is left of others where their sound cannot be heard again."""
    ranks: dict[int, list[int]] = {}
    for number, rank in sorted(found.hypotheses):
        ranks.setdefault(number, []).append(rank)
    broken: set[int] = set()
    before: int | None = None
    for number in sorted(found.recognitions.keys() | ranks.keys()):
        have = ranks.get(number, [])
        utterance = found.recognitions.get(number, (0, ""))[0]
        if have != list(range(len(have))) or (not have and utterance in playable):
            broken.add(number)
            if before is not None and (not have or have[0]):
                broken.add(before)  # what came right before may have lost its last ones
        before = number if have else before
    recognitions: dict[int, tuple[int, str]] = {}
    hypotheses: dict[tuple[int, int], Hypothesis] = {}
    for number, (utterance, recogniser) in found.recognitions.items():
        if utterance not in utterances or (number in broken and utterance in playable):
            continue
        recognitions[number] = utterance, recogniser
        for rank, kept in enumerate(ranks.get(number, [])):
            hypotheses[number, rank] = replace(found.hypotheses[number, kept], rank=rank)
    return recognitions, hypotheses


def _holding(utterances: Mapping[int, Utterance]) -> Iterator[tuple[int, int]]:
    """Yield each utterance that a longer one holds, and that one."""
    ordered = sorted(utterances.values(), key=_name)
    for at, one in enumerate(ordered):
        for other in reversed(ordered[:at]):
            if other.source_id != one.source_id or one.first_sample - other.first_sample > _LONGER_BEGINS:
                break
            if other.first_sample + other.sample_count >= one.first_sample + one.sample_count:
                yield one.id, other.id
                break


def _gaps(
    utterances: Mapping[int, Utterance], sources: Mapping[int, Source], lost: set[int]
) -> Iterator[Gap]:
    """Yield where utterances that are lost were: between two whose numbers have a lost one between them, and at ends."""
    ends: dict[int, int] = {}
    before: Utterance | None = None
    for each in sorted(utterances.values(), key=_name):
        low, high = sorted((0 if before is None else before.id, each.id))
        begins = ends.get(each.source_id, 0)
        if lost.intersection(range(low + 1, high)) and begins < each.first_sample:
            yield Gap(each.source_id, begins, each.first_sample)
            if before is not None and before.source_id != each.source_id:
                yield Gap(before.source_id, ends[before.source_id], None)
        ends[each.source_id] = max(begins, each.first_sample + each.sample_count)
        before = each
    for number, source in sources.items():
        if source.sample_count is None or number == max(sources) or (lost and number not in ends):
            yield Gap(number, ends.get(number, 0), None)
