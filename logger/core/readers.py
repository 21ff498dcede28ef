"""A reading made ready to be settled: what it may be, beside what each of that would be on the drive. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from grammar import Language, Reading, confusions
from logger.core.candidates import Option
from logger.core.evidence import Surroundings, same_quantity
from logger.core.rules import Observation
from logger.core.said import SpokenReading
from logger.core.strands import Knot

MOST_OPTIONS = 8
LEAST_WEIGHT = 1e-4
"""Options of a reading that take part, and how likely they must be; the rest counts as none of them."""

MOST_GUESSES = 6
OTHER_UNIT = 4.0
"""The cost of the same number in the quantity's other unit."""
_MILES_AND_KM = 2
_GUESSED = 0.5
"""This share of what nobody listed is among the guesses."""

_SMALLEST = 1e-12


@dataclass(frozen=True, slots=True)
class Reader:
    """A reading's options of the right quantity, and as many observations."""

    spoken: SpokenReading
    options: tuple[Option, ...]
    observations: tuple[Observation, ...]

    @property
    def id(self) -> str:
        """The entry's id."""
        return self.spoken.slot.id

    @property
    def other_weight(self) -> float:
        """The weight of everything that is none of the options."""
        return max(0.0, 1.0 - sum([option.weight for option in self.options]))

    @property
    def foreign(self) -> tuple[Option, ...]:
        """What the reading's words may mean besides: of another quantity, or too unlikely to take part."""
        own = {id(option) for option in self.options}
        return tuple([option for option in self.spoken.slot.options if id(option) not in own])

    @property
    def first(self) -> tuple[int, ...]:
        """Which options the first answer means; at least one."""
        return tuple([index for index, option in enumerate(self.options) if option.first])

    def knot(self) -> Knot:
        """Return what takes part in the strand."""
        return Knot(
            self.spoken.at_ns,
            self.observations,
            tuple([math.log(max(option.weight, _SMALLEST)) for option in self.options]),
            math.log(max(self.other_weight, _SMALLEST)),
        )


def make_reader(spoken: SpokenReading, around: Surroundings) -> Reader:
    """Make a reading ready; what its first answer means always takes part."""
    pairs = same_quantity(spoken)
    pairs.sort(key=lambda pair: not pair[0].first)  # stable: likeliest first among equals
    pairs = [pair for pair in pairs if pair[0].first or pair[0].weight >= LEAST_WEIGHT][:MOST_OPTIONS]
    return Reader(
        spoken,
        tuple(option for option, _ in pairs),
        around.observe_all((reading for _, reading in pairs), spoken.at_ns),
    )


class Readers:
    """Makes the readings of a drive ready, and keeps them: most are the same whenever the drive is gone through."""

    def __init__(self, around: Surroundings) -> None:
        self._around = around
        self._made: dict[str, Reader] = {}

    def of(self, spoken: SpokenReading) -> Reader:
        """Return a reading made ready."""
        entry_id = spoken.slot.id
        made = self._made.get(entry_id)
        if (
            made is None
            or made.spoken.slot is not spoken.slot
            or (made.spoken.at_ns, made.spoken.replaces) != (spoken.at_ns, spoken.replaces)
        ):
            made = self._made[entry_id] = make_reader(spoken, self._around)
        return made


def with_guesses(reader: Reader, language: Language, around: Surroundings) -> Reader:
    """Return a reading with what its first answer may have been misheard from, though nobody listed it, or in another unit.

    Guesses share a part of the weight of none of the options, by their costs. They are suggested, never accepted.
    """
    heard = reader.options[reader.first[0]]
    known = {(observed.value, observed.unit) for observed in reader.observations}
    lead = language.phrasebook.lead
    costs: dict[Reading, tuple[float, str]] = {}
    for guess in confusions(heard.heard.split()):
        for meaning in language.meanings((lead, *guess.words) if lead else guess.words):
            (part, *others) = meaning.parts
            if others or not isinstance(part, Reading) or part.quantity != reader.observations[0].quantity:
                continue
            if (part.value, part.unit) not in known and guess.cost < costs.get(part, (math.inf, ""))[0]:
                costs[part] = guess.cost, " ".join(guess.words)
    for part in _in_the_other_unit(heard.part, language):
        if (part.value, part.unit) not in known:
            costs[part] = OTHER_UNIT, heard.heard
    likeliest = sorted(costs.items(), key=lambda item: item[1])[:MOST_GUESSES]
    total = sum(math.exp(-cost) for _, (cost, _) in likeliest)
    unlisted = max(0.0, 1.0 - sum(option.weight for option in reader.spoken.slot.options))
    options, observations = list(reader.options), list(reader.observations)
    for part, (cost, words) in likeliest:
        weight = _GUESSED * unlisted * math.exp(-cost) / total
        options.append(Option(part, weight, words, first=False, guessed=True))
        observations.append(around.observe(part.quantity, part.value, part.unit, reader.spoken.at_ns))
    return replace(reader, options=tuple(options), observations=tuple(observations))


def _in_the_other_unit(part: object, language: Language) -> tuple[Reading, ...]:
    """Return the same number in the other unit of a quantity with two: a dash may have been switched, or the tongue slipped."""
    if not isinstance(part, Reading):
        return ()
    units = language.phrasebook.quantity(part.quantity).units
    return tuple(
        replace(part, unit=unit.symbol)
        for unit in units
        if len(units) == _MILES_AND_KM and unit.symbol != part.unit
    )


def certain(observed: Observation) -> Knot:
    """Return the knot of a value that a person decided."""
    return Knot(observed.at_ns, (observed,), (0.0,), _NEVER)


_NEVER = -1000.0
