"""A made-up drive's calls as answers of a recogniser, for tests of what becomes of them: no sound.

The car and its loop are invented: 0.3 % of charge a kilometre, 90 km/h, a call every few kilometres.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from num2words import num2words

from grammar import Language, Phrasebook, Reading
from logger.core.candidates import Call, as_measured, read_call
from logger.core.evidence import Surroundings
from logger.core.readers import Reader, make_reader
from logger.core.reconcile import Settled, reconcile
from logger.core.said import take_in
from logger.core.slots import Option
from logger.model import (
    RATE_HZ,
    Decision,
    Drive,
    Entry,
    HeardWord,
    Hypothesis,
    Place,
    Recognition,
    Utterance,
)

NANO = 1_000_000_000
BEGAN = 1_935_558_000_000_000_000
"""2031-05-03T07:00:00Z."""

LANGUAGE = Language(Phrasebook())
SPEED_MPS = 25.0
_WORD_NS = 400_000_000

PlaceAt = Callable[[int], Place | None]


def in_words(value: str) -> str:
    """A number as a cardinal, by num2words: "ninety seven point two"."""
    words = num2words(Decimal(value)).replace("-", " ").replace(",", "")
    return words.replace("minus", "minus")


def answers(*lines: str, scores: Sequence[float | None] | None = None) -> tuple[Hypothesis, ...]:
    """An n-best list, best first, every word 0.4 s long; by default each answer is e^4 times likelier than the next."""
    return tuple(
        Hypothesis(
            rank,
            tuple(
                HeardWord(word, number * _WORD_NS, (number + 1) * _WORD_NS)
                for number, word in enumerate(line.split())
            ),
            -4.0 * rank if scores is None else scores[rank],
        )
        for rank, line in enumerate(lines)
    )


def steady(utc_ns: int) -> Place | None:
    """A car that goes 90 km/h from the start of the drive, in a land on Greenwich's meridian."""
    seconds = (utc_ns - BEGAN) / NANO
    return Place(45.0, 0.5, max(0.0, seconds * SPEED_MPS), SPEED_MPS, 1.0)


def nowhere(_utc_ns: int) -> Place | None:
    """No track."""
    return None


@dataclass
class CalledDrive:
    """Calls at times of a drive; `call` adds one, `settle` reconciles them."""

    place_at: PlaceAt = steady
    utterances: list[Utterance] = field(default_factory=list)
    recognitions: list[Recognition] = field(default_factory=list)

    def call(self, at_s: float, *lines: str, scores: Sequence[float | None] | None = None) -> int:
        """Add a call that was answered by these lines, best first; return its utterance's id."""
        number = len(self.utterances) + 1
        self.utterances.append(
            Utterance(
                number, 1, round(at_s * RATE_HZ), 6 * RATE_HZ, round(at_s * NANO), f"clips/{number}.flac"
            )
        )
        self.recognitions.append(Recognition(number, "typed", answers(*lines, scores=scores)))
        return number

    def settle(self, decisions: Iterable[Decision] = (), language: Language = LANGUAGE) -> Settled:
        """Reconcile the drive."""
        return reconcile(
            Drive(BEGAN, ""),
            self.utterances,
            self.recognitions,
            language=language,
            place_at=self.place_at,
            decisions=tuple(decisions),
        )

    def entries(self, decisions: Iterable[Decision] = ()) -> dict[str, Entry]:
        """The entries by id."""
        return {entry.id: entry for entry in self.settle(decisions).entries}


def charges(
    drive: CalledDrive, values: Iterable[int | str | tuple[int | str, ...]], *, every_s: float = 200.0
) -> None:
    """Call out charges, one every 5 km; a tuple is an n-best list."""
    for number, value in enumerate(values, start=len(drive.utterances)):
        heard = value if isinstance(value, tuple) else (value,)
        drive.call(number * every_s, *(f"checkpoint {in_words(str(each))} percent" for each in heard))


def trips(drive: CalledDrive, values: Iterable[str | tuple[str, ...]], *, every_s: float = 200.0) -> None:
    """Call out trips in kilometres, one every 5 km; a tuple is an n-best list."""
    for number, value in enumerate(values, start=len(drive.utterances)):
        heard = value if isinstance(value, tuple) else (value,)
        drive.call(number * every_s, *(f"checkpoint {in_words(each)} kilometers" for each in heard))


def reader_of(*lines: str, scores: Sequence[float | None] | None = None) -> tuple[Reader, Surroundings]:
    """Return the first reading of a call with these answers, made ready, and where the car was."""
    drive = CalledDrive()
    drive.call(100, *lines, scores=scores)
    call = read_call(drive.utterances[0], as_measured(drive.recognitions[0]), LANGUAGE)
    assert call is not None
    around = Surroundings(Drive(0, ""), drive.place_at, [call.at_ns])
    return make_reader(take_in([call]).readings[0], around), around


def values_of(reader: Reader) -> list[str]:
    """Return the values a reading may have, with their units."""
    return [f"{each.value} {each.unit}" for each in reader.observations]


UTTERANCE = Utterance(12, 1, 0, 96_000, 5_000_000_000, "clips/12.flac")


def call_of(*lines: str, scores: list[float | None] | None = None, language: Language = LANGUAGE) -> Call:
    """What an utterance with these answers may have said."""
    found = read_call(
        UTTERANCE, as_measured(Recognition(12, "typed", answers(*lines, scores=scores))), language
    )
    assert found is not None
    return found


def option_values(options: tuple[Option, ...]) -> list[tuple[str, str, str, float]]:
    """Quantity, value, unit and weight of each option that is a reading."""
    return [
        (option.part.quantity, str(option.part.value), option.part.unit, round(option.weight, 4))
        for option in options
        if isinstance(option.part, Reading)
    ]


TYPED = 0.999
"""What is left for the answers of the typed recogniser: one in a thousand has the truth in none of them."""
