"""Random calls of the call-out language, as words, with what they mean.

Built from the language's description alone (the call-out card), never from `grammar`, so that a mistake there
cannot hide here. What is said how often follows what a driver would say: mostly charge and trip, then efficiency
and range, seldom the rest.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal, NamedTuple

from speechkit.numbers import Style, spoken, styles_of

LEAD = "checkpoint"
System = Literal["miles", "metric"]

NOTES = ("headwind", "tailwind", "detour", "stopped", "charging", "rain", "traffic")


class Said(NamedTuple):
    """One reading of a call's truth: "63", not 63, so that "63.0" stays as said."""

    quantity: str
    value: str
    unit: str


@dataclass(frozen=True, slots=True)
class SpokenReading:
    """One reading in words.

    Attributes:
        text: the words alone.
        script: the same for a synthesiser ("A M" where `text` has "a m").
        said: what it means.
        style: how its number is said; None for a clock time.
    """

    text: str
    script: str
    said: Said
    style: Style | None


@dataclass(frozen=True, slots=True)
class SpokenCall:
    """Something a driver says to odovox.

    Attributes:
        text: the words alone, as a recogniser should give them.
        script: the text for a synthesiser, with commas for pauses.
        truth: its readings in the order said; empty for a command.
        kind: "call", "correction", or the words of a command ("strike that", "note headwind", ...).
        styles: how its numbers are said.
    """

    text: str
    script: str
    truth: tuple[Said, ...]
    kind: str
    styles: frozenset[Style]


@dataclass(frozen=True, slots=True)
class _Way:
    """How a quantity is said in one unit: `{}` stands for the number.

    `places` holds the decimals it may have, repeated as they are usual. With `below_zero` the pattern itself says
    the sign of a negative number.
    """

    pattern: str
    unit: str
    lowest: int
    highest: int
    places: tuple[int, ...]
    weight: float = 1.0
    below_zero: bool = False


_MILES: dict[str, tuple[_Way, ...]] = {
    "charge": (_Way("{} percent", "%", 0, 100, (0,)),),
    "trip": (
        _Way("{} miles", "mi", 0, 399, (1,), 8),
        _Way("{} miles", "mi", 400, 999, (1,)),
        _Way("trip {}", "mi", 0, 399, (1,)),
    ),
    "range_left": (_Way("{} miles left", "mi", 0, 399, (0,), 4), _Way("{} miles left", "mi", 400, 999, (0,))),
    "efficiency": (_Way("{} miles per kilowatt hour", "mi/kWh", 1, 6, (1, 1, 2)),),
    "energy_used": (_Way("{} kilowatt hours", "kWh", 0, 120, (1,)),),
    "odometer": (
        _Way("odometer {}", "mi", 100, 99_999, (0,), 4),
        _Way("odometer {} miles", "mi", 1000, 99_999, (0,), 2),
        _Way("odometer {}", "mi", 100_000, 999_999, (0,)),
    ),
    "outside_temperature": (
        _Way("outside {} degrees", "degF", 20, 110, (0, 0, 1), 4),
        _Way("outside {} degrees", "degF", -20, -1, (0,)),
        _Way("outside {} degrees below zero", "degF", -20, -1, (0,), below_zero=True),
        _Way("{} degrees outside", "degF", 20, 110, (0,)),
    ),
    "battery_temperature": (_Way("battery {} degrees", "degF", 30, 120, (0, 0, 1)),),
    "indicated_speed": (
        _Way("indicated {}", "mph", 20, 90, (0,), 6),
        _Way("indicated {}", "mph", 91, 199, (0,)),
        _Way("indicated {} miles per hour", "mph", 20, 90, (0,)),
    ),
}
_METRIC: dict[str, tuple[_Way, ...]] = {
    "charge": _MILES["charge"],
    "trip": (
        _Way("{} kilometers", "km", 0, 599, (1,), 8),
        _Way("{} kilometers", "km", 600, 999, (1,)),
        _Way("trip {}", "km", 0, 599, (1,)),
    ),
    "range_left": (_Way("{} kilometers left", "km", 0, 599, (0,)),),
    "efficiency": (
        _Way("{} kilowatt hours per hundred kilometers", "kWh/100km", 9, 35, (1,), 2),
        _Way("{} kilometers per kilowatt hour", "km/kWh", 3, 9, (1, 1, 2)),
    ),
    "energy_used": _MILES["energy_used"],
    "odometer": (
        _Way("odometer {}", "km", 100, 99_999, (0,), 4),
        _Way("odometer {} kilometers", "km", 1000, 99_999, (0,), 2),
        _Way("odometer {}", "km", 100_000, 999_999, (0,)),
    ),
    "outside_temperature": (
        _Way("outside {} degrees", "degC", 0, 40, (0, 0, 1), 3),
        _Way("outside {} degrees", "degC", -25, -1, (0, 0, 1)),
        _Way("outside {} degrees below zero", "degC", -25, -1, (0,), below_zero=True),
        _Way("outside {} degrees celsius", "degC", 0, 40, (0,)),
    ),
    "battery_temperature": (_Way("battery {} degrees", "degC", 0, 55, (0, 0, 1)),),
    "indicated_speed": (
        _Way("indicated {}", "km/h", 50, 199, (0,), 4),
        _Way("indicated {} kilometers per hour", "km/h", 50, 199, (0,)),
    ),
}
_WAYS: dict[str, dict[str, tuple[_Way, ...]]] = {"miles": _MILES, "metric": _METRIC}

_WEIGHT = {
    "charge": 30,
    "trip": 26,
    "efficiency": 12,
    "range_left": 11,
    "odometer": 4,
    "energy_used": 5,
    "outside_temperature": 4,
    "battery_temperature": 3,
    "indicated_speed": 4,
    "clock": 3,
}
QUANTITIES = tuple(_WEIGHT)

_STYLE_WEIGHT = {
    Style.CARDINAL: 5,
    Style.CARDINAL_AND: 3,
    Style.A_HUNDRED: 3,
    Style.PAIRED: 6,
    Style.DIGITS: 2,
    Style.HALF: 2,
}


def reading(
    quantity: str, value: Decimal, unit: str, rng: random.Random, style: Style | None = None
) -> SpokenReading:
    """Return a reading of a given value in words: a phrase and, without `style`, a style picked at random.

    The value is said with the decimals it is written with. A clock's value is minutes after midnight.

    Raises:
        ValueError: the quantity is not said in that unit, or the value not in that style.
    """
    if quantity == "clock":
        return _clock(int(value), rng)
    ways = [
        way
        for system in _WAYS.values()
        for way in system.get(quantity, ())
        if way.unit == unit and (not way.below_zero or value < 0)
    ]
    if not ways:
        raise ValueError(f"nobody says {quantity} in {unit}")
    return _in_words(quantity, rng.choices(ways, [way.weight for way in ways])[0], value, rng, style)


def call(readings: Sequence[SpokenReading], lead: str = LEAD, *, correction: bool = False) -> SpokenCall:
    """Return the call that says these readings in one breath; an empty `lead` leaves it out."""
    opening = "correction" if correction else lead
    return SpokenCall(
        text=" ".join((*opening.split(), *(each.text for each in readings))),
        script=f"{opening} {', '.join(each.script for each in readings)}".strip(),
        truth=tuple(each.said for each in readings),
        kind="correction" if correction else "call",
        styles=frozenset(each.style for each in readings if each.style is not None),
    )


def command(words: str) -> SpokenCall:
    """Return a command: "strike that", "say again", "how far" or "note ..."."""
    return SpokenCall(words, words, (), words, frozenset())


def calls(
    count: int, seed: int, system: System = "miles", lead: str = LEAD, command_share: float = 0.0
) -> tuple[SpokenCall, ...]:
    """Return `count` random calls of one to four readings, no quantity twice in one.

    A `command_share` of them are corrections and commands instead.
    """
    rng = random.Random(f"speechkit calls {seed} {system}")
    made = []
    for _ in range(count):
        if rng.random() < command_share:
            made.append(_random_command(rng, system))
            continue
        made.append(call([_random_reading(each, rng, system) for each in _quantities(rng)], lead))
    return tuple(made)


def _quantities(rng: random.Random) -> list[str]:
    """Return one to four different quantities: the most usual first, as drivers say them."""
    wanted = rng.choices((1, 2, 3, 4), (30, 40, 22, 8))[0]
    chosen: list[str] = []
    while len(chosen) < wanted:
        left = [name for name in QUANTITIES if name not in chosen]
        chosen += rng.choices(left, [_WEIGHT[name] for name in left])
    if rng.random() < 0.8:
        chosen.sort(key=QUANTITIES.index)
    return chosen


def _random_reading(quantity: str, rng: random.Random, system: System) -> SpokenReading:
    if quantity == "clock":
        # Times on the hour and the half are said more often than they fall.
        minute = rng.randrange(24 * 60) if rng.random() < 0.7 else 30 * rng.randrange(48)
        return _clock(minute, rng)
    ways = _WAYS[system][quantity]
    way = rng.choices(ways, [each.weight for each in ways])[0]
    places = rng.choice(way.places)
    whole = rng.randint(way.lowest, way.highest)
    value = Decimal(whole)
    if places:
        value = abs(value) + Decimal(rng.randrange(10**places)).scaleb(-places)
        value = min(value, Decimal(f"999.{'9' * places}"))
        value = value.copy_sign(Decimal(whole))
    return _in_words(quantity, way, value, rng, None)


def _in_words(
    quantity: str, way: _Way, value: Decimal, rng: random.Random, style: Style | None
) -> SpokenReading:
    number = abs(value) if way.below_zero else value
    if style is None:
        styles = styles_of(number)
        style = rng.choices(styles, [_style_weight(each, number) for each in styles])[0]
    text = way.pattern.format(spoken(number, style, rng))
    return SpokenReading(text, text, Said(quantity, format(value, "f"), way.unit), style)


def _style_weight(style: Style, value: Decimal) -> float:
    """Return how often a style is used: two digits are seldom said one by one."""
    weight = float(_STYLE_WEIGHT[style])
    return weight / 6 if style is Style.DIGITS and abs(value) < 100 else weight


def _clock(minute: int, rng: random.Random) -> SpokenReading:
    """Return a time of day with "a m" or "p m", so that it means one time only."""
    hour, past = divmod(minute, 60)
    hour_word = spoken(Decimal(hour % 12 or 12), Style.CARDINAL, rng)
    half = "p m" if hour >= 12 else "a m"
    if past == 0:
        words = f"{hour_word} o'clock" if rng.random() < 0.5 else hour_word
    elif past == 30 and rng.random() < 0.5:
        words = f"half past {hour_word}"
    else:
        minutes = spoken(Decimal(past), Style.CARDINAL, rng)
        words = f"{hour_word} {'oh ' if past < 10 else ''}{minutes}"
    lead = "time " if rng.random() < 0.7 else ""
    text = f"{lead}{words} {half}"
    # Synthesisers read "a m" as the article and a letter, and "A M" as the two letters.
    return SpokenReading(text, f"{lead}{words} {half.upper()}", Said("clock", str(minute), "min"), None)


def _random_command(rng: random.Random, system: System) -> SpokenCall:
    drawn = rng.random()
    if drawn < 0.45:
        name = rng.choices(("charge", "trip", "range_left", "efficiency"), (4, 4, 1, 1))[0]
        return call([_random_reading(name, rng, system)], correction=True)
    if drawn < 0.7:
        return command(f"note {rng.choice(NOTES)}")
    return command(rng.choice(("strike that", "say again", "how far")))


def with_lead(spoken_call: SpokenCall, lead: str = LEAD) -> SpokenCall:
    """Return a correction or command as people also say it: with the lead word before it."""
    return replace(spoken_call, text=f"{lead} {spoken_call.text}", script=f"{lead} {spoken_call.script}")
