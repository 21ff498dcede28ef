"""The meanings of a call laid beside each other: the places that readings have in it, and what each may be. Pure.

One meaning is the *frame*: its parts are the call's slots, numbered from 1, which name the entries. Every other one is laid
beside it, and each slot takes as options what stands there in them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from operator import attrgetter
from typing import NamedTuple

from grammar import Command, Meaning, Reading
from logger.core.aligning import aligned
from logger.core.parts import MakeUp, Part, Told
from logger.core.placing import at_word_ns, length_ns, word_starts_ns
from logger.model import Hypothesis, Utterance

_OTHER_UNIT = 1.0
_OTHER_QUANTITY = 2.5
_OTHER_KIND = 10.0
_LEFT_OUT = 2.0


class Candidate(NamedTuple):  # a call has dozens, and a tuple is made much faster than a frozen record
    """One meaning the call may have: the best answer that says it, and the weight of all that do (0 to 1).

    `made_of` is its make-up: what it consists of in which order, whatever the values. `told` numbers its parts, equal
    ones of the call's other meanings by the same number.
    """

    meaning: Meaning
    hypothesis: Hypothesis
    weight: float
    made_of: MakeUp
    told: Told


class Option(NamedTuple):
    """One thing a slot may be.

    `weight` is the sum over the candidates that have it there, so the weights of a slot's options add up to at
    most 1. `first` says that the frame's answer itself means this, `guessed` that no answer does; `expected` is how likely
    a guess is, by the drive, where the slot is none of what was heard.
    """

    part: Part
    weight: float
    heard: str
    first: bool
    guessed: bool = False
    expected: float = 0.0


@dataclass(frozen=True, slots=True)
class Slot:
    """One part of a call: its number from 1, when its first word was spoken, and its options, likeliest first.

    `frame` is what the first answer says there, `id` that of its entry.
    """

    utterance_id: int
    position: int
    at_ns: int
    frame: Part
    options: tuple[Option, ...]
    id: str = field(init=False, compare=False)

    def __post_init__(self) -> None:
        # Kept, since it is asked for a dozen times.
        object.__setattr__(self, "id", f"{self.utterance_id}-{self.position}")


def slots_of(
    utterance: Utterance, best: Hypothesis, found: Sequence[Candidate], made_of: MakeUp
) -> tuple[Slot, ...]:
    """Return the call's slots with the first answer of a make-up as its frame."""
    frame = next(candidate for candidate in found if candidate.made_of == made_of)
    beside = _Beside(frame)
    laid = [_Laid({}, [], set()) for _ in frame.told]
    for meaning, hypothesis, weight, theirs, told in found:
        parts, first = meaning.parts, hypothesis is frame.hypothesis
        at: Iterable[int | None] = range(len(told)) if theirs == made_of else beside.of(told, parts)
        for (weights, origins, firsts), index in zip(laid, at, strict=True):
            if index is None:
                continue
            number = told[index]
            if number in weights:
                weights[number] += weight
            else:
                weights[number] = weight
                origins.append((parts[index], hypothesis))
            if first:
                firsts.add(number)
    starts = word_starts_ns(frame.hypothesis, best, length_ns(utterance))
    return tuple(
        [
            Slot(
                utterance.id,
                position,
                at_word_ns(utterance, starts, part.first_word),
                part,
                here.options(),
            )
            for position, (part, here) in enumerate(zip(frame.meaning.parts, laid, strict=True), start=1)
        ]
    )


class _Laid(NamedTuple):
    """The parts beside a slot, by the number they are told by.

    Attributes:
        weights: of all answers that have a part there.
        origins: each part with the first answer that has it there, in the same order.
        firsts: those that the frame's own answer has there.
    """

    weights: dict[int, float]
    origins: list[tuple[Part, Hypothesis]]
    firsts: set[int]

    def options(self) -> tuple[Option, ...]:
        """Return them as the slot's options, likeliest first."""
        return tuple(
            sorted(
                [
                    Option(part, weight, _words(answer, part), number in self.firsts)
                    for (number, weight), (part, answer) in zip(
                        self.weights.items(), self.origins, strict=True
                    )
                ],
                key=attrgetter("weight"),
                reverse=True,
            )
        )


def _words(answer: Hypothesis, part: Part) -> str:
    return " ".join([word.text for word in answer.words[part.first_word : part.end_word]])


class _Beside:
    """Lays other meanings of a call beside its frame; meanings that differ from it alike lie alike."""

    def __init__(self, frame: Candidate) -> None:
        self._frame = tuple(zip(frame.told, frame.meaning.parts, strict=True))
        self._differences: list[tuple[float, ...]] = []
        self._of_part: dict[int, int] = {}
        self._laid: dict[tuple[int, ...], list[int | None]] = {}

    def of(self, told: Told, parts: Sequence[Part]) -> list[int | None]:
        """Return for each part of the frame which one of a meaning's parts, numbered as told, stands beside it, None for none."""
        known = self._of_part
        differing = tuple(
            [
                known[number] if number in known else self._compared(number, part)
                for number, part in zip(told, parts, strict=True)
            ]
        )
        laid = self._laid.get(differing)
        if laid is None:
            laid = self._laid[differing] = aligned(
                range(len(self._frame)),
                [self._differences[each] for each in differing],
                lambda mine, differences: differences[mine],
                _LEFT_OUT,
            )
        return laid

    def _compared(self, number: int, part: Part) -> int:
        """Return which of the known ways to differ from the frame's parts a part has."""
        differences = tuple(
            [0.0 if told == number else _difference(mine, part) for told, mine in self._frame]
        )
        if differences not in self._differences:
            self._differences.append(differences)
        return self._of_part.setdefault(number, self._differences.index(differences))


def _difference(one: Part, other: Part) -> float:
    """Return how far two parts are apart that are not equal."""
    if isinstance(one, Reading) and isinstance(other, Reading):
        if one.quantity != other.quantity or one.correction != other.correction:
            return _OTHER_QUANTITY
        return _OTHER_UNIT if one.unit == other.unit else _OTHER_UNIT + 0.5
    if isinstance(one, Command) and isinstance(other, Command):
        return _OTHER_UNIT
    return _OTHER_KIND
