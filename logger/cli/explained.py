"""How an entry came about, as text for people."""

from __future__ import annotations

import math
import shlex
from typing import TYPE_CHECKING

from logger.cli.talk import printable
from logger.model import Origin

if TYPE_CHECKING:
    from logger.core.explaining import Explanation, Judged, Neighbour, Possibility, StepWeight, Weighing
    from logger.model import Entry
    from logger.wiring.explaining import Account

_MOST_ANSWERS = 6
_MOST_OTHERS, _LEAST_OTHER = 4, 0.001
_MOST_HABITS, _LEAST_HABIT = 6, 0.2
_WANDER_KM = 10.0
_LEAST_SURPRISE = 0.2


def account_text(account: Account, drive: str) -> str:
    """Return how an entry of a drive came about, as lines for a person."""
    explained, weighing = account.explanation, account.explanation.weighing
    paragraphs = [_entry(account, drive), _heard(account), _decisions(account)]
    if weighing is None and account.entry.value is not None and account.entry.origin is not Origin.TYPED:
        paragraphs.append(["It does not stand, so nothing else it may be was weighed."])
    if weighing is not None:
        paragraphs += [
            _possibilities(weighing, decided=bool(explained.decisions)),
            _beside(weighing),
            _rules(weighing),
        ]
    return "\n\n".join("\n".join(map(printable, lines)) for lines in paragraphs if lines) + "\n"


def _entry(account: Account, drive: str) -> list[str]:
    from logger.core.times import elapsed_text
    from logger.core.utc import format_utc

    entry, now, again = account.entry, account.now, f"`odovox reconcile {shlex.quote(drive)}`"
    along = "" if account.place is None else f", {account.place.distance_m / 1000:.3f} km along the track"
    lines = [
        f"Entry {entry.id}: {_told(entry)}",
        f"  read off at {elapsed_text(entry.at_ns / 1e9)} ({format_utc(account.at_utc_ns)}){along}",
    ]
    if entry.reason:
        lines.append(f"  because: {entry.reason}")
    if not account.logged:
        lines.append(f"  It is not in the log yet; {again} puts it there.")
    elif now is None:
        lines.append(f"  After {again} it would not be there any more.")
    elif (_told(now), now.reason) != (_told(entry), entry.reason):
        because = f": {now.reason}" if now.reason else ""
        lines.append(f"  After {again} it would be {_told(now)}{because}")
    return lines


def _told(entry: Entry) -> str:
    from logger.core.rules import told

    text = entry.note
    if entry.value is not None:
        text = told(entry.quantity, entry.value, entry.unit)
    parts = [f"{entry.quantity} {text}".rstrip(), entry.status.value]
    if entry.value is not None:
        parts.append(f"probability {_share(entry.confidence)}")
    return ", ".join([*parts, entry.origin.value.replace("_", " ")])


def _heard(account: Account) -> list[str]:
    from logger.core.trusting import AS_MEASURED

    explained = account.explanation
    if not explained.recogniser:
        return (
            ["Nobody heard it: it was typed."] if explained.decisions else ["Nobody has listened to it yet."]
        )
    sound = f"; its sound is {account.clip}" if account.clip else "; its sound was not kept"
    lines = [f"Heard by {explained.recogniser}{sound}"]
    if not explained.answers:
        return [*lines, "  no call"]
    shown = explained.answers[:_MOST_ANSWERS]
    lines += _table(
        ["weight", "score", "answer"],
        [[_share(each.weight), _score(each.score), each.text] for each in shown],
        "rrl",
    )
    rest = explained.answers[_MOST_ANSWERS:]
    if rest:
        lines.append(f"  and {len(rest)} more, {_share(sum(each.weight for each in rest))} together")
    lines.append(f"  {_share(explained.unlisted)} is kept for what is in no answer.")
    if explained.trust is not None:
        lines.append(
            f"  Two listened. This drive taught that the second's scores count {explained.trust.weight:.2g} times the "
            f"first's ({AS_MEASURED.weight:.2g} until a drive teaches), the sum times {explained.trust.sharpness:.2g}."
        )
        lines += _habits(explained)
    return lines


def _habits(explained: Explanation) -> list[str]:
    """Return what the drive taught of the words of the answers, the most telling first."""
    assert explained.trust is not None
    words = {word for each in explained.answers for word in each.text.split()}
    told = [each for each in explained.trust.habits if each[0] in words and abs(each[1]) >= _LEAST_HABIT]
    told.sort(key=lambda each: -abs(each[1]))
    if not told:
        return []
    times = ", ".join(f"'{word}' {math.exp(habit):.2g}" for word, habit in told[:_MOST_HABITS])
    return [f"  And of this voice: how many times likelier than heard each of these words is: {times}."]


def _score(score: float | None) -> str:
    return "" if score is None else f"{score:.2f}"


def _possibilities(weighing: Weighing, *, decided: bool) -> list[str]:
    without = ", had nobody decided about it" if decided else ""
    lines = [f"What the reading may be{without}"]
    rows = [_possibility(each) for each in weighing.possibilities]
    rows.append(
        ["none of these", "", "", _share(weighing.none_weight), "", "", "", _share(weighing.none_probability)]
    )
    header = ["value", "words", "", "sound", "alone", "from before", "to after", "probability"]
    lines += _table(header, rows, "lllrrrrr")
    lines += [
        "  sound, probability: how likely by the recogniser alone, and by the whole drive.",
        "  alone, steps: how many times likelier than a value out of the blue; a step as usual / by a surprise.",
        "  guess: no answer says it, but it sounds alike or the drive makes it likely; it is never accepted by itself.",
    ]
    likely = [each for each in weighing.others if each.weight >= _LEAST_OTHER]
    for each in likely[:_MOST_OTHERS]:
        value = f"{each.quantity.replace('_', ' ')} {each.text}".rstrip()
        lines.append(f"  It may also be {value} ('{each.words}'), {_share(each.weight)} by its sound.")
    return lines


def _possibility(each: Possibility) -> list[str]:
    return [
        each.observed.text,
        each.words,
        "heard" if each.first else "guess" if each.guessed else "",
        _share(each.weight),
        _times(each.alone),
        _step(each.from_before),
        _step(each.to_after),
        _share(each.probability),
    ]


def _step(step: StepWeight | None) -> str:
    return "" if step is None else f"{_times(step.usual)} / {_times(step.surprise)}"


def _beside(weighing: Weighing) -> list[str]:
    lines = ["Beside it"]
    lines.append(f"  {_neighbour(weighing.before, 'before')}")
    lines.append(f"  {_neighbour(weighing.after, 'after')}")
    lines.append(f"  {course_text(weighing)}")
    if weighing.expected:
        lines.append(f"  By that it would be {weighing.expected}.")
    likeliest = weighing.possibilities[0]
    if likeliest.surprise >= _LEAST_SURPRISE:
        how = _share(likeliest.surprise)
        lines.append(f"  {likeliest.observed.text} would have come by a surprise, with {how}.")
    if not weighing.leads_on:
        lines.append("  The step to the reading after is a surprise, which is asked about at that reading.")
    return lines


def _neighbour(neighbour: Neighbour | None, side: str) -> str:
    from logger.core.times import elapsed_text

    if neighbour is None:
        return f"{side}: no trusted reading"
    name = f" ({neighbour.entry_id})" if neighbour.entry_id else ""
    return (
        f"{side}: {neighbour.observed.text}{name} at {elapsed_text(neighbour.observed.at_ns / 1e9)}, "
        f"{elapsed_text(neighbour.seconds)} and {neighbour.km:.2f} km {'earlier' if side == 'before' else 'later'}"
    )


def course_text(weighing: Weighing) -> str:
    """Return how the quantity goes on over the drive, in words."""
    from logger.core.rules.alone import around_the_clock

    course, observed = weighing.course, weighing.heard.observed
    name = observed.quantity.replace("_", " ")
    unit = observed.base_unit.replace("deg", "\N{DEGREE SIGN}")
    if observed.quantity == "clock":
        if weighing.clock_ahead_min is None:
            return "The drive does not tell how far its clock is ahead of UTC."
        ahead = round(around_the_clock(weighing.clock_ahead_min))
        hours, minutes = divmod(abs(ahead), 60)
        side = "ahead of" if ahead >= 0 else "behind"
        return f"The clock is {hours} h {minutes:02d} min {side} UTC, as its readings agree."
    if observed.quantity == "indicated_speed":
        return f"{name} reads {_give_or_take(100 * course.slope, 100 * course.slope_sd)} % above GPS speed."
    along, far = ("hour", 1.0) if course.by_time else ("km", _WANDER_KM)
    if not course.by_time and observed.driven_km is not None:
        along = "GPS km"
    goes = "goes on as it was"
    if course.slope or course.slope_sd:
        goes = f"goes {_give_or_take(course.slope, course.slope_sd)} {unit} a {along}"
    scale, unit = (100.0, "%") if course.in_logs else (1.0, unit)
    wander = (
        f"{scale * math.sqrt(course.wander * far):.2g} {unit} in {f'{far:.0f} km' if far > 1 else 'an hour'}"
    )
    return f"{name} {goes}; it wanders by {wander}, and at one place by {scale * course.jitter:.2g} {unit}."


def _give_or_take(value: float, sd: float) -> str:
    """Return a value and its standard deviation, with two digits of that."""
    places = max(0, 1 - math.floor(math.log10(sd))) if sd > 0.0 else 3
    return f"{value:.{places}f} \N{PLUS-MINUS SIGN} {sd:.{places}f}"


def _rules(weighing: Weighing) -> list[str]:
    lines = ["The rules"]
    same = weighing.heard.observed == weighing.likeliest.observed
    lines += _verdicts(weighing.heard, "heard and likeliest" if same else "heard")
    if not same:
        lines += _verdicts(weighing.likeliest, "likeliest")
    return lines


def _verdicts(judged: Judged, which: str) -> list[str]:
    lines = [f"  {judged.observed.text}, {which}"]
    for verdict in judged.verdicts:
        message = f": {verdict.message}" if verdict.message else ""
        lines.append(f"    {verdict.outcome.value:<5} {verdict.rule}{message}")
    return lines


def _decisions(account: Account) -> list[str]:
    from logger.core.history import history_of, step_text
    from logger.core.utc import format_utc

    steps = history_of(account.entry.id, account.explanation.decisions)
    lines = ["Decided by people; the last one that was not withdrawn counts"] if steps else []
    for step in steps:
        each = step.decision
        lines.append(f"  {each.id}  {format_utc(each.at_utc_ns)}  {each.who} {step_text(step)}")
    return lines


def _share(share: float) -> str:
    """Return a probability in percent; one that is not quite 0 or 1 does not look like it."""
    if 0.0 < share < 0.0005:
        return "<0.1%"
    if 0.9995 <= share < 1.0:
        return ">99.9%"
    return f"{share:.1%}"


def _times(log: float) -> str:
    """Return a natural log as how many times."""
    times = math.exp(min(log, 600.0))
    if not times:
        return "0"
    if 10.0 <= times < 1e5:
        return f"{times:.0f}"
    return f"{times:.2g}" if 1e-3 <= times < 10.0 else f"{times:.0e}"


def _table(header: list[str], rows: list[list[str]], sides: str) -> list[str]:
    from tabulate import tabulate  # heavy

    names = {"l": "left", "r": "right"}
    text = tabulate(
        rows,
        headers=header,
        tablefmt="simple",
        disable_numparse=True,
        colalign=[names[side] for side in sides],
    )
    return [f"  {line}".rstrip() for line in text.splitlines()]
