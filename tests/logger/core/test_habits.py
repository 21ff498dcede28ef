"""Which words a recogniser prefers in one voice, held to an optimiser from outside."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from random import Random

import numpy as np
import pytest
from called_drives import BEGAN, LANGUAGE, SPEED_MPS, CalledDrive, answers, in_words
from numpy.typing import NDArray
from scipy.optimize import minimize
from two_ears import heard

from logger.core.habits import HABIT_SD, Habits, Lesson, by_habit, habits_of
from logger.core.reconcile import work_out
from logger.model import Drive, Entry, Recognition, Status

WORDS = ("four", "five", "nine", "forty", "point")


def lessons(seed: int, calls: int) -> list[Lesson]:
    """Calls with made-up answers, scores and fits."""
    rng = Random(seed)
    found = []
    for _ in range(calls):
        lines = [" ".join(rng.choices(WORDS, k=rng.randint(1, 4))) for _ in range(rng.randint(1, 5))]
        fits = np.array([rng.choice([1e-6, 0.1, 1.0]) for _ in lines])
        logs = np.array([rng.uniform(-4.0, 0.0) for _ in lines])
        found.append(Lesson(answers(*lines), logs, fits / fits.max()))
    return found


def worth(taught: list[Lesson], habit: Habits) -> float:
    """What `habits_of` makes the most of, written out."""
    told = dict(habit)
    total = -sum(each**2 for each in told.values()) / (2.0 * HABIT_SD**2)
    for lesson in taught:
        scores: NDArray[np.float64] = lesson.logs + np.array(
            [sum(told.get(word.text, 0.0) for word in answer.words) for answer in lesson.answers]
        )
        share = np.exp(scores) / np.exp(scores).sum()
        total += float(np.log(1e-3 + (1.0 - 1e-3) * (share @ lesson.fits)))
    return total


@pytest.mark.parametrize("seed", range(5))
def test_they_are_the_likeliest_ones(seed: int) -> None:
    """Scipy's own optimiser (scipy.optimize.minimize, BFGS) finds none that are worth more, but for the rounding."""
    taught = lessons(seed, calls=60)
    found = habits_of(taught)

    def loss(values: NDArray[np.float64]) -> float:
        return -worth(taught, tuple(zip(WORDS, values.tolist(), strict=True)))

    best = minimize(loss, np.array([dict(found).get(word, 0.0) for word in WORDS]), method="BFGS")

    assert worth(taught, found) == pytest.approx(-best.fun, abs=0.02)
    assert worth(taught, found) > worth(taught, ())


def test_nothing_heard_teaches_nothing() -> None:
    """No calls, and calls of one answer, which is right whatever the habit."""
    assert () == habits_of([])
    assert () == habits_of([Lesson(answers("five percent"), np.zeros(1), np.ones(1))])


def test_what_a_habit_does_to_answers() -> None:
    """Sums by hand; a word counts as often as it is said, and one without a habit not at all."""
    told = by_habit(answers("four point four", "five", ""), (("five", -2.0), ("four", 0.5)))

    assert [1.0, -2.0, 0.0] == told


def battery_reading(*, misheard: bool) -> Entry:
    """A battery at 34 degrees, heard as 35 first, after trips that GPS settles: in a voice whose "four" is misheard, or is not."""
    drive = CalledDrive()

    def hear(at_s: float, *lines: str) -> None:
        drive.call(at_s, *lines)
        both = heard(lines, lines, apart=1.0)
        drive.recognitions[-1] = Recognition(len(drive.recognitions), both.recogniser, both.hypotheses)

    for number in range(3, 33):
        for trip_km in (number * 10 + 4, number * 10 + 8):
            others = (trip_km + 1,) if trip_km % 10 == 4 else ()
            said = [f"checkpoint trip {in_words(str(each))} kilometers" for each in (trip_km, *others)]
            hear(trip_km * 1000.0 / SPEED_MPS, *(reversed(said) if misheard else said))
    hear(16_100.0, "checkpoint battery thirty five degrees", "checkpoint battery thirty four degrees")
    return list(drive.settle().entries)[-1]


def test_what_distances_teach_tells_what_nothing_else_does() -> None:
    """A lone temperature is settled by its sound alone: as the voice says it, where the drive has taught that."""
    clear, misheard = battery_reading(misheard=False), battery_reading(misheard=True)
    ways = [(each.confidence, each.value) for each in (misheard, *misheard.alternatives)]

    assert Decimal(35) == clear.value
    assert Decimal(34) == max(ways)[1]
    assert Status.FLAGGED is misheard.status or misheard.value == Decimal(34)


def test_what_stays_the_same_teaches_nothing() -> None:
    """An efficiency of 4.1 that is heard as 4.4 all day agrees with itself each time, and nothing else bears it out."""
    drive = CalledDrive()
    for number in range(40):
        lines = [f"checkpoint efficiency {in_words(each)} miles per kilowatt hour" for each in ("4.4", "4.1")]
        drive.call(200.0 * number, *lines)
        drive.recognitions[-1] = replace(
            heard(tuple(lines), tuple(lines), apart=1.0), utterance_id=number + 1
        )
    trust = work_out(
        Drive(BEGAN, ""), drive.utterances, drive.recognitions, language=LANGUAGE, place_at=drive.place_at
    ).trust

    assert () == trust.habits
