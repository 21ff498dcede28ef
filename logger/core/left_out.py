"""What a reading may be that its strand is likely to leave out. Pure.

A strand leaves out what goes on as nothing around it does. That may be true and odd all the same (another car's odometer, read
once), misheard and in none of the answers, or a reading of another quantity. So the probability of none of the options is shared
among what was heard, what was not, and what is foreign.
"""

from __future__ import annotations

from typing import NamedTuple

from logger.core.neighbours import Place
from logger.core.plausible.odds import ANOTHER_CAR
from logger.core.readers import Reader

_SMALLEST = 1e-9
_NOTHING = 4e-5
"""Less is not told of anything, so it is not shared out: most readings are certain."""


class Probabilities(NamedTuple):
    """What a reading is, all together 1.

    Attributes:
        options: how likely each option is.
        foreign: how likely each of the reader's foreign meanings is.
        unheard: how likely it is none of what was heard, guesses among the options left out.
    """

    options: list[float]
    foreign: list[float]
    unheard: float


def probabilities(reader: Reader, place: Place) -> Probabilities:
    """Return how likely each thing is that a reading may be.

    What the drive makes likely and no answer has is part of what was not heard: that says more of a reading that fits nowhere
    than its words do.
    """
    posterior, index = place.woven.posterior, place.at
    shares: list[float] = posterior.options[index, : len(reader.options)].tolist()
    none = float(posterior.none[index])
    if none < _NOTHING:
        return Probabilities(shares, [0.0] * len(reader.foreign), none)
    # Nothing else on a dash is odd once and goes on as before.
    once = ANOTHER_CAR if reader.observations[0].quantity == "odometer" else 0.0
    odd = [0.0 if option.guessed else once * option.weight for option in reader.options]
    unheard, foreign = reader.unheard, reader.foreign_weights
    whole = max(sum(odd) + unheard + sum(foreign), _SMALLEST)
    lost = none * unheard / whole
    more = [none * each / whole for each in odd]
    for number, option in enumerate(reader.options):
        if option.expected:
            more[number] = lost * option.expected
    return Probabilities(
        [share + each for share, each in zip(shares, more, strict=True)],
        [none * each / whole for each in foreign],
        lost * (1.0 - sum([option.expected for option in reader.options])),
    )
