"""Single readings really spoken and really heard, from which very many drives are put together cheaply.

A group's bank is spoken by the group's own voices. A composed drive calls at moments when its dash shows a value that is
in the bank (`exceptions.py`), so values are spread over what the kit's cars show.
"""

from __future__ import annotations

import gzip
import json
import random
import zlib
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from typing import Any

from speechkit.calls import Said, SpokenCall, System, call, command, reading
from speechkit.voices import GROUPS as VOICES
from speechkit.voices import Voice

from rehearsed.hearing import first_answer, hear, noise_seed
from rehearsed.jobs import do_all
from rehearsed.records import Answers

SYSTEMS: tuple[System, ...] = ("miles", "metric")
NOTES = ("note charging", "note unplugged", "note trip reset")
_PROGRESS_EVERY = 50
_WORDS_OF_OTHER_UNITS = {"mi": "miles", "km": "kilometers"}
_MANY = 1000
"""More than any list of values has."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Something to be spoken for a bank: `value` is "" for a note."""

    group: str
    system: System
    kind: str
    quantity: str
    value: str
    unit: str
    take: int
    voice_number: int

    @property
    def key(self) -> str:
        """Its name in the bank."""
        return " ".join(
            (self.system, self.kind.replace(" ", "_"), self.quantity, self.value, self.unit, str(self.take))
        )

    @property
    def voice(self) -> Voice:
        """Who speaks."""
        voices = VOICES[self.group]
        return voices[self.voice_number % len(voices)]

    def spoken(self) -> SpokenCall:
        """Return it in words, each take in a style of its own."""
        if not self.quantity:
            return command(self.kind)
        rng = random.Random(f"rehearsed bank {self.group} {self.key}")
        own = self.unit not in _other_units(self.system)
        while True:
            said = reading(self.quantity, Decimal(self.value), self.unit, rng)
            # What is not in the sheet's own units can be told only by its unit.
            if own or _WORDS_OF_OTHER_UNITS[self.unit] in said.text:
                return call((said,), correction=self.kind == "correction")


@dataclass(frozen=True, slots=True)
class BankItem:
    """One take of one reading or note, as it was heard at one ratio.

    Attributes:
        kind: "call", "correction" or a note's words.
        quantity, value, unit: what was said; "" for a note.
        first_right: whether the first of the joined answers is what was said.
        listed: whether one of the joined answers is.
    """

    key: str
    system: System
    kind: str
    quantity: str
    value: str
    unit: str
    take: int
    text: str
    voice: str
    ratio_db: float
    length_s: float
    vosk: Answers
    sphinx: Answers
    first_right: bool
    listed: bool

    @property
    def wrong_but_listed(self) -> bool:
        """Whether a call was heard whose first answer is wrong while a later one is right."""
        return bool(self.vosk) and self.listed and not self.first_right


Key = tuple[System, float, str, str, str]
"""Units, ratio, kind, quantity and unit."""


@dataclass(frozen=True)
class Bank:
    """All items of a group."""

    group: str
    items: tuple[BankItem, ...]

    @cached_property
    def _sorted(self) -> dict[Key, dict[Decimal, tuple[BankItem, ...]]]:
        found: dict[Key, dict[Decimal, list[BankItem]]] = defaultdict(lambda: defaultdict(list))
        for item in self.items:
            key = (item.system, item.ratio_db, item.kind, item.quantity, item.unit)
            found[key][Decimal(item.value or 0)].append(item)
        return {
            key: {
                value: tuple(sorted(takes, key=lambda item: item.take))
                for value, takes in sorted(values.items())
            }
            for key, values in found.items()
        }

    def values(
        self, system: System, ratio_db: float, kind: str, quantity: str = "", unit: str = ""
    ) -> dict[Decimal, tuple[BankItem, ...]]:
        """Return the takes by value, in order; a note's value is 0."""
        return self._sorted.get((system, ratio_db, kind, quantity, unit), {})


def wanted(group: str) -> tuple[Wanted, ...]:
    """Return what a group's bank holds, the systems taking turns."""
    lists = [tuple(_of_system(group, system)) for system in SYSTEMS]
    return tuple(each for pair in zip(*lists, strict=True) for each in pair)


def _of_system(group: str, system: System) -> Iterator[Wanted]:
    rng = random.Random(f"rehearsed bank values {group} {system}")
    miles = system == "miles"
    distance = "mi" if miles else "km"
    longest = 300 if miles else 480
    number = 0
    for kind, quantity, unit, values, doubled in (
        # Of each `doubled`-th value there are two takes.
        ("call", "charge", "%", list(map(Decimal, range(101))), 3),
        ("call", "trip", distance, _spread(rng, 180, 0, 10 * longest, 1), 4),
        ("call", "odometer", distance, _runs(rng, miles=miles), _MANY),
        ("call", "range_left", distance, _spread(rng, 50, 4, longest), _MANY),
        ("call", "efficiency", *_efficiencies(rng, miles=miles), _MANY),
        ("call", "outside_temperature", *_temperatures(rng, miles=miles), _MANY),
        ("call", "indicated_speed", *_speeds(rng, miles=miles), _MANY),
        ("correction", "charge", "%", _spread(rng, 32, 6, 97), _MANY),
        ("correction", "trip", distance, _spread(rng, 32, 40, 10 * longest, 1), _MANY),
        *(("call", quantity, unit, values, _MANY) for quantity, unit, values in _other(rng, system)),
    ):
        for index, value in enumerate(values):
            for take in range(1 if (index + 1) % doubled else 2):
                number += 1
                yield Wanted(group, system, kind, quantity, format(value, "f"), unit, take, number + take)
    for note in NOTES:
        for take in range(2):
            number += 1
            yield Wanted(group, system, note, "", "", "", take, number + take)


def _spread(rng: random.Random, count: int, lowest: int, highest: int, places: int = 0) -> list[Decimal]:
    """Return values spread evenly, each drawn from its share of the way."""
    step = (highest - lowest) / count
    drawn = {lowest + int(step * (index + rng.random())) for index in range(count)}
    while len(drawn) < count:
        drawn.add(rng.randrange(lowest, highest))
    return [Decimal(value).scaleb(-places) for value in sorted(drawn)]


def _runs(rng: random.Random, *, miles: bool) -> list[Decimal]:
    """Return three odometers' counts in the course of a drive each."""
    values: list[Decimal] = []
    for start in (
        rng.randrange(1_200, 9_000),
        rng.randrange(11_000, 60_000),
        rng.randrange(101_000, 180_000),
    ):
        count = start
        for _ in range(12):
            count += rng.randrange(10, 26) if miles else rng.randrange(16, 42)
            values.append(Decimal(count))
    return values


def _efficiencies(rng: random.Random, *, miles: bool) -> tuple[str, list[Decimal]]:
    if miles:
        return "mi/kWh", [Decimal(value).scaleb(-1) for value in range(30, 54)]
    return "kWh/100km", [Decimal(value).scaleb(-1) for value in sorted(rng.sample(range(114, 206), 24))]


def _temperatures(rng: random.Random, *, miles: bool) -> tuple[str, list[Decimal]]:
    if miles:
        return "degF", _sample(rng, 22, 97, 24)
    return "degC", _sample(rng, -6, 36, 24)


def _speeds(rng: random.Random, *, miles: bool) -> tuple[str, list[Decimal]]:
    return ("mph", _sample(rng, 57, 77, 20)) if miles else ("km/h", _sample(rng, 90, 125, 20))


def _sample(rng: random.Random, lowest: int, end: int, count: int) -> list[Decimal]:
    return [Decimal(value) for value in sorted(rng.sample(range(lowest, end), count))]


def _other(rng: random.Random, system: System) -> tuple[tuple[str, str, list[Decimal]], ...]:
    """Return readings in units that are not the sheet's own."""
    distance, longest = ("km", 480) if system == "miles" else ("mi", 300)
    return (
        ("trip", distance, _spread(rng, 40, 10 * longest // 4, 10 * longest, 1)),
        ("range_left", distance, _spread(rng, 16, 4, 2 * longest // 3)),
    )


def _other_units(system: System) -> tuple[str, ...]:
    return ("km",) if system == "miles" else ("mi",)


def heard_item(piece: tuple[Wanted, float]) -> dict[str, Any]:
    """Speak one item into noise and hear it."""
    want, ratio_db = piece
    spoken = want.spoken()
    seed = noise_seed(want.group, "bank", ratio_db, zlib.crc32(want.key.encode()) % 10_000_000)
    heard = hear(spoken.script, want.voice, want.system, ratio_db, seed)
    truth: tuple[Said, ...] = spoken.truth
    first, listed = first_answer(heard, truth, spoken.kind, want.system)
    return asdict(
        BankItem(
            key=want.key,
            system=want.system,
            kind=want.kind,
            quantity=want.quantity,
            value=want.value,
            unit=want.unit,
            take=want.take,
            text=spoken.text,
            voice=want.voice.name,
            ratio_db=ratio_db,
            length_s=round(heard.length_s, 3),
            vosk=heard.vosk,
            sphinx=heard.sphinx,
            first_right=first,
            listed=listed,
        )
    )


def collect(group: str, ratios_db: Sequence[float], kept: Path, processes: int) -> Bank:
    """Speak and hear a group's bank at some ratios; `kept` holds what was done before, of other ratios too."""
    pieces = [
        (f"{ratio_db:02g} {want.key}", (want, ratio_db)) for ratio_db in ratios_db for want in wanted(group)
    ]
    found = do_all(heard_item, pieces, kept, processes, _PROGRESS_EVERY)
    return Bank(group, tuple(_item(found[key]) for key in sorted(found)))


def save_bank(path: Path, bank: Bank) -> None:
    """Write a bank: a line with its group, then one item a line."""
    path.parent.mkdir(parents=True, exist_ok=True)
    lines: Iterable[object] = ({"group": bank.group}, *(asdict(item) for item in bank.items))
    with gzip.GzipFile(path, "wb", mtime=0) as file:
        for line in lines:
            file.write((json.dumps(line, separators=(",", ":")) + "\n").encode())


def load_bank(path: Path) -> Bank:
    """Read a bank."""
    with gzip.open(path, "rt", encoding="utf-8") as lines:
        group = json.loads(next(lines))["group"]
        return Bank(group, tuple(_item(json.loads(line)) for line in lines))


def _item(kept: dict[str, Any]) -> BankItem:
    ears = {name: tuple((words, score) for words, score in kept[name]) for name in ("vosk", "sphinx")}
    return BankItem(**{**kept, **ears})
