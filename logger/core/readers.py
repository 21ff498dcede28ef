"""A reading made ready to be settled: what it may be, beside what each of that would be on the drive. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from grammar import Reading
from logger.core.evidence import Surroundings, same_quantity
from logger.core.rules import Observation
from logger.core.said import SpokenReading
from logger.core.slots import Option
from logger.core.strands import Knot

MOST_OPTIONS = 8
LEAST_WEIGHT = 1e-4
"""Options of a reading that take part, and how likely they must be; the rest counts as none of them."""
MOST_MORE = 16
"""How many of the rest take part once those leave the reading in doubt."""

_SMALLEST = 1e-12


@dataclass(frozen=True, slots=True)
class Reader:
    """A reading's options of the right quantity, and as many observations.

    `foreign_fits` says how well each of `foreign` fits the drive, 1 at best; nothing where that was not asked.
    """

    spoken: SpokenReading
    options: tuple[Option, ...]
    observations: tuple[Observation, ...]
    foreign_fits: tuple[float, ...] = ()

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
        own = {id(option.part) for option in self.options if not option.guessed}
        if len(own) == len(self.spoken.slot.options):
            return ()
        return tuple([option for option in self.spoken.slot.options if id(option.part) not in own])

    @property
    def foreign_weights(self) -> tuple[float, ...]:
        """The weight of each of `foreign`, by how well it fits."""
        foreign = self.foreign
        if not foreign:
            return ()
        fits = self.foreign_fits or (1.0,) * len(foreign)
        return tuple([option.weight * fit for option, fit in zip(foreign, fits, strict=True)])

    @property
    def unheard(self) -> float:
        """The weight of what is in no answer at all."""
        return max(0.0, 1.0 - sum([option.weight for option in self.spoken.slot.options]))

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
    first = [pair for pair in pairs if pair[0].first]
    others = [pair for pair in pairs if not pair[0].first and pair[0].weight >= LEAST_WEIGHT]
    pairs = [*first, *others][:MOST_OPTIONS]
    return Reader(
        spoken,
        tuple([option for option, _ in pairs]),
        around.observe_all([reading for _, reading in pairs], spoken.at_ns),
    )


def with_more(reader: Reader, options: Sequence[Option], around: Surroundings) -> Reader:
    """Return a reading with further options, all of them readings."""
    parts = [option.part for option in options if isinstance(option.part, Reading)]
    return replace(
        reader,
        options=(*reader.options, *options),
        observations=(*reader.observations, *around.observe_all(parts, reader.spoken.at_ns)),
    )


def with_all_heard(reader: Reader, around: Surroundings) -> Reader:
    """Return a reading with all of its quantity that it was heard as; of what is unlikely by its sound the drive may leave nothing else."""
    own = {id(option.part) for option in reader.options}
    others = [option for option, _ in same_quantity(reader.spoken) if id(option.part) not in own]
    return with_more(reader, others[:MOST_MORE], around)


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


def certain(observed: Observation) -> Knot:
    """Return the knot of a value that a person decided."""
    return Knot(observed.at_ns, (observed,), (0.0,), _NEVER)


_NEVER = -1000.0
