"""How likely each word is to come next: what a recogniser weighs its ears against.

Without it a search takes "nine p m, one" for "ninety" gladly, since every word costs it the same. The weights
say roughly how often a driver uses a word where several could follow; they are judgement, not counts,
made on synthetic voices, some of which are REPORT voices now. A word that is not listed weighs 1.
"""

from __future__ import annotations

import math

from grammar.automaton import Automaton

WORD_WEIGHTS: dict[str, float] = {
    # what ends nearly every reading
    "percent": 60,
    "miles": 60,
    "kilometers": 60,
    "per": 200,
    "kilowatt": 30,
    "watt": 3,
    "hour": 60,
    "hours": 20,
    "degrees": 30,
    "left": 30,
    "point": 30,
    "hundred": 20,
    "m": 20,
    "checkpoint": 50,
    # what is said now and then
    "and": 3,
    "thousand": 2,
    "outside": 2,
    "indicated": 2,
    "remaining": 0.5,
    "fahrenheit": 0.5,
    "celsius": 0.5,
    "correction": 0.5,
    "odometer": 0.5,
    "trip": 0.3,
    "note": 0.3,
    "strike": 0.3,
    "say": 0.3,
    "how": 0.3,
    "battery": 0.3,
    "range": 0.2,
    "efficiency": 0.2,
    "energy": 0.2,
    "a": 0.15,
    "charge": 0.1,
    "time": 0.3,
    "p": 0.1,
    "predicted": 0.1,
    "negative": 0.1,
    "to": 0.1,
    # short words that are heard in noise more often than they are said
    "clock": 0.1,
    "state": 0.05,
    "half": 0.05,
    "quarter": 0.05,
    "o'clock": 0.05,
    "mile": 0.05,
    "kilometer": 0.05,
}
_STOP_WEIGHT = 20.0
"""A phrase may end after most readings, and most have at most three."""


def arc_log_likelihoods(automaton: Automaton) -> tuple[tuple[dict[str, float], float | None], ...]:
    """Return for each state the natural logs of each next word's share, and of stopping there (None: cannot).

    The shares of one state add up to 1.
    """
    weighed = []
    for state, arcs in enumerate(automaton.arcs):
        stop = _STOP_WEIGHT if state in automaton.finals else 0.0
        total = stop + sum(WORD_WEIGHTS.get(word, 1.0) for word in arcs)
        shares = {word: math.log(WORD_WEIGHTS.get(word, 1.0) / total) for word in arcs}
        weighed.append((shares, math.log(stop / total) if stop else None))
    return tuple(weighed)
