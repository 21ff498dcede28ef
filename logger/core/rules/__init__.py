"""Plausibility rules: each takes one value a reading may have and what it is judged beside, and returns a verdict. Pure.

`RULES` lists them; `docs/rules.md` is made from it by `rules_page`.
"""

from __future__ import annotations

from functools import cache

from logger.core.rules import alone, beside
from logger.core.rules.records import (
    Check,
    Context,
    Facts,
    Mark,
    Moment,
    Observation,
    Outcome,
    Rule,
    Verdict,
    observe,
    passed,
    told,
    worse,
)

__all__ = [
    "RULES",
    "Check",
    "Context",
    "Facts",
    "Mark",
    "Moment",
    "Observation",
    "Outcome",
    "Rule",
    "Verdict",
    "judge",
    "observe",
    "passed",
    "rules_page",
    "told",
    "worse",
]


_PAGE_START = """\
# Rules

<!-- Made from the rules' docstrings by logger.core.rules.rules_page; a test holds that it is up to date. -->

What a reading has to agree with before odovox accepts it without asking.
A rule passes a value, doubts it or fails it.
A value that is doubted or failed is never accepted as it is.
Its entry is flagged, with a sentence that names the numbers, unless another answer of the recogniser is all but certain.
A rule that compares two readings looks at the trusted readings of the quantity before and after, in order of time, and not only at the last one.
"""

_PAGE_END = """\
# What the driver says about readings

- A **correction** replaces the newest standing reading of its quantity.
  What it replaces stays as a rejected row; the correction takes over its time and place, since that is when the value was on the dash.
  It is `corrected` when the rules pass it and flagged otherwise.
  Without an earlier reading of the quantity it is a reading like any other.
- **strike that** withdraws the newest standing call: every reading of that breath, or a call that was not understood.
  The rows stay, rejected.
  A withdrawn correction lets what it replaced stand again.
  Where a note was said after the call, or the words may have been others, nothing is withdrawn: the call's readings are flagged.
- **note ...** is a row `note`; so are "strike that" and the questions, as `asked: how far` and `asked: say again`.
- A **call without a meaning** is a flagged row `unheard`, when some answer has the lead word or "correction" in it; other talk is only counted.

# When a value is accepted

Every answer of the recogniser has a weight, and so has what it means; the drive makes each value more or less likely, beside all others that were called out (docs/method.md has the model and its formulas).
A value is accepted when it is at least 99 % likely, when no surprise led to it, and when the rules above pass it beside the trusted readings around it.
A trip, an odometer or a charge beside a jump that nobody noted is asked about as well where it was also heard as if there were none.
The first answer is replaced by another one only when that one is accepted by the same measure and lies between trusted readings, or when the first answer cannot be by itself.
The log then says what was heard first.
All else is flagged with the value as heard, what else it may be and how likely that is, and why.
A value that nobody heard, but that sounds like what was heard and fits, or that the drive makes likely where nothing heard fits, may be suggested; it is never accepted by itself.
"""


def _rule(check: Check, *quantities: str, beside: bool = False) -> Rule:
    return Rule(check, frozenset(quantities), beside=beside)


RULES: tuple[Rule, ...] = (
    _rule(alone.within_limits),
    _rule(beside.charge_never_rises, "charge", beside=True),
    _rule(beside.charge_falls_with_distance, "charge", beside=True),
    _rule(beside.distance_never_falls, "trip", "odometer", beside=True),
    _rule(beside.distance_agrees_with_gps, "trip", "odometer", beside=True),
    _rule(beside.energy_never_falls, "energy_used", beside=True),
    _rule(beside.energy_rises_with_distance, "energy_used", beside=True),
    _rule(beside.range_follows_distance, "range_left", beside=True),
    _rule(alone.efficiency_is_possible, "efficiency"),
    _rule(beside.temperature_changes_slowly, "outside_temperature", "battery_temperature", beside=True),
    _rule(alone.speed_agrees_with_gps, "indicated_speed"),
    _rule(alone.clock_agrees_with_gps, "clock"),
)


def judge(observed: Observation, context: Context, rules: tuple[Rule, ...] = RULES) -> Verdict:
    """Return the worst verdict of the rules about the quantity; of equal ones that of the first rule."""
    verdict = passed("")
    for rule in _about(observed.quantity) if rules is RULES else rules:
        if rules is RULES or rule.about(observed.quantity):
            verdict = worse(verdict, rule.check(observed, context))
            if verdict.outcome is Outcome.FAIL:
                break
    return verdict


@cache
def _about(quantity: str) -> tuple[Rule, ...]:
    """Return the rules about a quantity; every reading is judged several times."""
    return tuple(rule for rule in RULES if rule.about(quantity))


def rules_page(rules: tuple[Rule, ...] = RULES) -> str:
    """Return the text of docs/rules.md."""
    lines = [_PAGE_START]
    for rule in rules:
        about = ", ".join(f"`{name}`" for name in sorted(rule.quantities)) or "every quantity"
        lines += [f"## `{rule.name}`", "", f"About {about}.", rule.sentence, ""]
    return "\n".join([*lines, _PAGE_END])
