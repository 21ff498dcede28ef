"""Calls in a person's voice, joined from the recorded words of Debian's asterisk-core-sounds-en-g722.

One speaker (Allison Smith; CC BY-SA 3.0), 16 kHz, each word said alone: slower and with more stress than in a
sentence, and no two words run together. What the words allow:

- numbers whole: 0-19, the tens, hundred, thousand, "and", "a", "oh", minus, and "point" (cut from "exclamation
  point"); so every number style but "half";
- the default sheet's charge ("percent") and clock ("time", "a m", "p m", "o'clock");
- no miles, kilometers, degrees, kilowatt hours, and no "checkpoint". For the other quantities a sheet can name
  keywords that are recorded: `KEYWORDS` takes them from the spelling alphabet and from what there is.
"""

from __future__ import annotations

import functools
import random
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import numpy as np

from speechkit import RATE_HZ, Samples
from speechkit.calls import Said
from speechkit.levels import NOMINAL_RMS, Sound, active_rms, extent, to_samples, trimmed_to_level
from speechkit.numbers import Style, spoken, styles_of

PACKAGE = "asterisk-core-sounds-en-g722"
_FOLDER = Path("/usr/share/asterisk/sounds/en_US_f_Allison")

KEYWORDS: dict[str, str] = {
    "trip": "tango",
    "odometer": "oscar",
    "range_left": "romeo",
    "efficiency": "echo",
    "energy_used": "kilo",
    "outside_temperature": "foxtrot",
    "battery_temperature": "bravo",
    "indicated_speed": "speed",
}
"""Recorded words that a sheet must add as keywords before the calls of `calls(keywords=True)` mean anything."""

LEAD = "location"
"""A recorded word that can stand for the lead word, where a test is about having one."""


class RecordingsMissingError(Exception):
    """The recordings are not installed; the message names the Debian package."""


@dataclass(frozen=True, slots=True)
class Take:
    """Where a word is recorded: a file without its ending, and which part of it (None: all)."""

    file: str
    part_s: tuple[float, float] | None = None


def _digits(*names: str) -> dict[str, tuple[Take, ...]]:
    return {word: (Take(f"digits/{number}"),) for number, word in (name.split("=") for name in names)}


WORDS: dict[str, tuple[Take, ...]] = {
    **_digits(
        "0=zero", "1=one", "2=two", "3=three", "4=four", "5=five", "6=six", "7=seven", "8=eight", "9=nine"
    ),
    **_digits("10=ten", "11=eleven", "12=twelve", "13=thirteen", "14=fourteen", "15=fifteen", "16=sixteen"),
    **_digits("17=seventeen", "18=eighteen", "19=nineteen", "20=twenty", "30=thirty", "40=forty", "50=fifty"),
    **_digits("60=sixty", "70=seventy", "80=eighty", "90=ninety", "hundred=hundred", "thousand=thousand"),
    **_digits("minus=minus", "oclock=o'clock"),
    "oh": (Take("digits/oh"), Take("letters/o")),
    "and": (Take("vm-and"),),
    "a": (Take("letters/a"),),
    "a m": (Take("digits/a-m"),),
    "p m": (Take("digits/p-m"),),
    # By eye from the level of each 10 ms, checked by ear of a recogniser: the stop before the burst of the p.
    "point": (Take("letters/exclaimation-point", (0.975, 1.528)),),
    "percent": (Take("letters/ascii37"),),
    "time": (Take("time"),),
    "tango": (Take("phonetic/t_p"),),
    "oscar": (Take("phonetic/o_p"),),
    "romeo": (Take("phonetic/r_p"),),
    "echo": (Take("phonetic/e_p"),),
    "kilo": (Take("phonetic/k_p"),),
    "foxtrot": (Take("phonetic/f_p"),),
    "bravo": (Take("phonetic/b_p"),),
    "speed": (Take("speed-dial", (0.14, 0.64)),),
    "location": (Take("location"),),
    "left": (Take("letters/ascii123", (0.05, 0.41)), Take("letters/ascii91", (0.05, 0.41))),
}
"""The words that can be joined, and their takes. "a m" is one recording."""


@dataclass(frozen=True, slots=True)
class HumanCall:
    """A call in a person's voice.

    Attributes:
        text: its words.
        truth: its readings in the order said.
        samples: its sound, from the first word's first sound to the last one's end, at -26 dB of full scale.
        styles: how its numbers are said.
    """

    text: str
    truth: tuple[Said, ...]
    samples: Samples
    styles: frozenset[Style]


def calls(
    count: int = 120, seed: int = 1, lead: str = "", *, keywords: bool = False
) -> tuple[HumanCall, ...]:
    """Return `count` calls of one to three readings.

    Without `keywords` they hold charge and clock times, as the default sheet has them; with it, all quantities,
    told by `KEYWORDS`. An empty `lead` fits open mode.

    Raises:
        RecordingsMissingError: the recordings are not installed.
    """
    rng = random.Random(f"speechkit human {seed} {keywords}")
    made = []
    for _ in range(count):
        names = ["charge"] if rng.random() < 0.8 else []
        if not names or rng.random() < 0.25:
            names.append("clock")
        if keywords:
            names = rng.sample([*KEYWORDS], rng.choice((1, 1, 2))) + names[: rng.randint(0, 1)]
        readings = [_reading(name, rng) for name in names]
        phrases = [words for words, _, _ in readings]
        if lead:
            phrases[0] = [lead, *phrases[0]]
        made.append(
            HumanCall(
                text=" ".join(word for words in phrases for word in words),
                truth=tuple(said for _, said, _ in readings),
                samples=join(phrases, rng),
                styles=frozenset(style for _, _, style in readings if style is not None),
            )
        )
    return tuple(made)


def join(phrases: Sequence[Sequence[str]], rng: random.Random) -> Samples:
    """Return recorded words said one after the other, with a short pause between phrases.

    Each word is trimmed and brought to one level, within 1.5 dB; words of a phrase overlap by up to 20 ms or lie
    up to 30 ms apart, phrases 150 to 350 ms.

    Raises:
        KeyError: a word is not recorded.
        RecordingsMissingError: the recordings are not installed.
    """
    sound: Sound = np.zeros(0)
    for words in phrases:
        gap_s = rng.uniform(0.15, 0.35) if len(sound) else 0.0
        for word in words:
            spoken_word = _recorded(rng.choice(WORDS[word])) * 10 ** (rng.uniform(-1.5, 1.5) / 20)
            sound = _after(sound, spoken_word, round(gap_s * RATE_HZ))
            gap_s = rng.uniform(-0.02, 0.03)
    return to_samples(trimmed_to_level(sound))


def read_g722(path: Path) -> Samples:
    """Return the sound of a headerless G.722 file at 64 kbit/s, as the package has them."""
    from G722 import G722  # type: ignore[import-not-found]

    decoded = G722(RATE_HZ, 64_000).decode(path.read_bytes())
    return np.asarray(decoded, dtype=np.int16)


def _after(sound: Sound, word: Sound, gap: int) -> Sound:
    """Return `word` put behind `sound`: after silence, or over its end (faded into each other) if `gap` < 0."""
    if gap >= 0:
        return np.concatenate((sound, np.zeros(gap), word))
    over = min(-gap, len(sound), len(word))
    fade = np.linspace(0, 1, over)
    crossed = sound[len(sound) - over :] * (1 - fade) + word[:over] * fade
    return np.concatenate((sound[: len(sound) - over], crossed, word[over:]))


@functools.cache
def _recorded(take: Take) -> Sound:
    path = _FOLDER / f"{take.file}.g722"
    if not path.exists():
        raise RecordingsMissingError(f"{path} is not there: install Debian's {PACKAGE}")
    sound = read_g722(path).astype(np.float64)
    if take.part_s is not None:
        first, end = (round(at * RATE_HZ) for at in take.part_s)
        sound = sound[first:end]
    first, end = extent(sound)
    word = sound[first:end]
    return word * (NOMINAL_RMS / active_rms(word))


def _reading(quantity: str, rng: random.Random) -> tuple[list[str], Said, Style | None]:
    """Return the words of a random reading (each a key of WORDS), what it means, and how its number is said."""
    if quantity == "clock":
        minute = rng.randrange(24 * 60)
        hour, past = divmod(minute, 60)
        words = ["time", *_cardinal(hour % 12 or 12)]
        words += ["o'clock"] if past == 0 else [*(["oh"] if past < 10 else []), *_cardinal(past)]
        return [*words, "p m" if hour >= 12 else "a m"], Said("clock", str(minute), "min"), None
    lowest, highest, places, unit = {
        "charge": (0, 100, 0, "%"),
        "trip": (0, 399, 1, "mi"),
        "odometer": (1000, 99_999, 0, "mi"),
        "range_left": (1, 399, 0, "mi"),
        "efficiency": (1, 6, rng.choice((1, 2)), "mi/kWh"),
        "energy_used": (0, 120, 1, "kWh"),
        "outside_temperature": (-15, 105, 0, "degF"),
        "battery_temperature": (20, 110, rng.choice((0, 1)), "degF"),
        "indicated_speed": (40, 110, 0, "mph"),
    }[quantity]
    value = Decimal(rng.randint(lowest, highest))
    if places:
        value += Decimal(rng.randrange(10**places)).scaleb(-places)
    style = rng.choice([each for each in styles_of(value) if each is not Style.HALF])
    number = spoken(value, style, rng).split()
    said = Said(quantity, format(value, "f"), unit)
    if quantity == "charge":
        return [*number, "percent"], said, style
    return [KEYWORDS[quantity], *number], said, style


def _cardinal(number: int) -> list[str]:
    return spoken(Decimal(number), Style.CARDINAL, random.Random(0)).split()
