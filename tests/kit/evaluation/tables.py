"""Counts as Markdown for docs/call-model.md, and what had to be reached beside what was. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from typing import Any

from rehearsed.shares import interval, with_interval

from evaluation.conditions import EVERY, RATIOS
from evaluation.costs import Cost
from evaluation.ears import AUTO, CALL_MODEL, POCKETSPHINX
from evaluation.judging import Pair, Row
from evaluation.trials import DIGITS, PERSON, READ, SYNTHETIC, TALK

BEGIN, END = "<!-- bench-recognition begins -->", "<!-- bench-recognition ends -->"
AIMS = ((10, 97), (5, 93), (0, 80))
"""Ratio in dB, and how many in a hundred first answers had to be right on unseen synthetic voices."""
MOST_SHARE, MOST_MEMORY_MB, MOST_LOAD_S, MOST_ANSWER_S = 0.1, 200.0, 1.0, 0.4
_BY_CHANCE = 0.05
_VOICES_AT = ("clean", "10 dB broadband", "5 dB broadband", "0 dB broadband")
_TITLES = {
    SYNTHETIC: "Calls by REPORT voices",
    PERSON: "Calls joined from a person's recorded words",
    DIGITS: "Digit by digit, by people whom the call model never heard",
}


@dataclass(frozen=True, slots=True)
class Results:
    """Everything that one run of the benchmark found.

    Attributes:
        date: the day, as YYYY-MM-DD.
        share: which share of the trials was heard, at most 1.
        rows: the counts.
        pairs: where `auto` and PocketSphinx differ.
        costs: what each takes.
        remarks: what is missing, one sentence each.
    """

    date: str
    share: float
    rows: tuple[Row, ...]
    pairs: tuple[Pair, ...]
    costs: tuple[Cost, ...]
    remarks: tuple[str, ...] = ()

    @classmethod
    def read(cls, found: dict[str, Any]) -> Results:
        """Return results from JSON as `dataclasses.asdict` gives it."""
        kinds = {"rows": Row, "pairs": Pair, "costs": Cost}
        made = {name: tuple(kind(**each) for each in found[name]) for name, kind in kinds.items()}
        return cls(found["date"], found["share"], **made, remarks=tuple(found["remarks"]))  # type: ignore[arg-type]


def page(results: Results) -> str:
    """Return all tables, without the marks around them."""
    parts = [_preface(results), _must(results)]
    parts += [_heard(results.rows, kind) for kind in _TITLES]
    parts += [_by_voice(results.rows), _talk(results.rows), _costs(results.costs)]
    return "\n\n".join(part for part in parts if part)


def put_in(text: str, results: Results) -> str:
    """Return a page with what lies between its marks made anew.

    Raises:
        ValueError: the marks are missing.
    """
    before, begun, rest = text.partition(BEGIN)
    _, ended, after = rest.partition(END)
    if not begun or not ended:
        raise ValueError(f"the page lacks {BEGIN} or {END}")
    return f"{before}{BEGIN}\n\n{page(results)}\n\n{END}{after}"


def total(rows: Iterable[Row], **wanted: str) -> Row:
    """Return the sum of all rows with these values; counts of 0 where there is none."""
    chosen = [row for row in rows if all(getattr(row, name) == value for name, value in wanted.items())]
    sums = {
        name: sum(getattr(row, name) for row in chosen) for name in ("count", "first", "among", "no_call")
    }
    named = {field.name: wanted.get(field.name, "") for field in fields(Row) if field.name not in sums}
    return Row(**named, **sums)


def by_chance(pair: Pair) -> float:
    """Return how likely so uneven a split of the differing sounds is by chance: the exact sign test, both sides."""
    from scipy.stats import binomtest

    differing = pair.only_auto + pair.only_pocketsphinx
    return float(binomtest(pair.only_auto, differing).pvalue) if differing else 1.0


def _preface(results: Results) -> str:
    share = "" if results.share == 1 else f", the first {100 * results.share:g} % of the trials of each kind"
    told = (
        f"`make bench-recognition`, {results.date}{share}. Whole calls exactly right, %, in brackets 95 % intervals "
        "(Wilson). *First* is the first answer, *among* any answer."
    )
    return "\n".join([told, *(f"- {remark}" for remark in results.remarks)])


def _systems(rows: Iterable[Row]) -> list[str]:
    """Return who listened: odovox's own first."""
    named = {row.system for row in rows}
    own = [name for name in (AUTO, CALL_MODEL, POCKETSPHINX) if name in named]
    return own + sorted(named.difference(own))


def _table(head: Sequence[str], lines: Iterable[Sequence[str]]) -> str:
    body = ["| " + " | ".join(line) + " |" for line in lines]
    if not body:
        return ""
    return "\n".join(["| " + " | ".join(head) + " |", "|" + "---|" * len(head), *body])


def _share(part: int, whole: int) -> str:
    return with_interval(part, whole).strip() if whole else "-"


def _heard(rows: Sequence[Row], kind: str) -> str:
    """Return the table of one kind of calls: conditions down, recognisers across."""
    own = [row for row in rows if row.kind == kind]
    systems = _systems(own)
    lines = []
    for condition in EVERY:
        sums = [total(own, system=system, condition=condition.name) for system in systems]
        if any(each.count for each in sums):
            cells = [
                cell
                for each in sums
                for cell in (_share(each.first, each.count), _share(each.among, each.count))
            ]
            lines.append([condition.name, _counts(sums), *cells])
    head = ["sound", "calls", *(f"{system}: {what}" for system in systems for what in ("first", "among"))]
    table = _table(head, lines)
    return f"### {_TITLES[kind]}\n\n{table}" if table else ""


def _counts(sums: Iterable[Row]) -> str:
    return " / ".join(str(count) for count in sorted({each.count for each in sums if each.count}))


def _by_voice(rows: Sequence[Row]) -> str:
    own = [row for row in rows if row.kind in _TITLES and row.condition in _VOICES_AT]
    systems = _systems(own)
    lines = []
    for kind in _TITLES:
        for voice in dict.fromkeys(row.voice for row in own if row.kind == kind):
            cells = []
            for condition in _VOICES_AT:
                sums = [
                    total(own, kind=kind, voice=voice, condition=condition, system=each) for each in systems
                ]
                cells.append(" / ".join(str(each.first) if each.count else "-" for each in sums))
            lines.append(
                [
                    voice,
                    _counts(
                        [
                            total(own, voice=voice, condition=at, system=each)
                            for each in systems
                            for at in _VOICES_AT
                        ]
                    ),
                    *cells,
                ]
            )
    table = _table(["voice", "calls", *_VOICES_AT], lines)
    return f"### By voice\n\nFirst answers right: {' / '.join(systems)}.\n\n{table}" if table else ""


def _talk(rows: Sequence[Row]) -> str:
    own = [row for row in rows if row.kind in (TALK, READ)]
    systems = _systems(own)
    lines = []
    for condition in RATIOS:
        cells = []
        for kind in (TALK, READ):
            sums = [total(own, kind=kind, system=system, condition=condition.name) for system in systems]
            cells += [f"{each.count - each.no_call} of {each.count}" if each.count else "-" for each in sums]
        if any(cell != "-" for cell in cells):
            lines.append([condition.name, *cells])
    names = {TALK: "talk", READ: "people"}
    table = _table(
        ["sound", *(f"{names[kind]}: {system}" for kind in (TALK, READ) for system in systems)], lines
    )
    told = "Sentences by REPORT voices, and recordings of people in PocketSphinx's source distribution (five sentences of a novel; digits, cards, orders)."
    return f"### Other talk taken for a call\n\n{told}\n\n{table}" if table else ""


def _costs(costs: Sequence[Cost]) -> str:
    lines = [
        [
            each.system,
            f"{each.share:.3f}",
            f"{each.memory_mb:.0f}",
            f"{each.load_s:.2f}",
            f"{each.answer_s:.2f} ({each.slow_answer_s:.2f})",
            f"{each.load_average:.1f}",
        ]
        for each in costs
    ]
    head = [
        "recogniser",
        "share of real time",
        "memory, MB",
        "first load, s",
        "answer, s (nine in ten)",
        "load average before",
    ]
    table = _table(head, lines)
    told = (
        f"On one core, a process for each, {costs[0].sounds if costs else 0} calls at 10 dB broadband. Memory is the whole process with Python; the answer is timed from "
        "a whole stretch, which ends in half a second of quiet. Other work on the machine (a load average above 1 before it began) lengthens seconds, not the share."
    )
    return f"### Cost\n\n{told}\n\n{table}" if table else ""


def _must(results: Results) -> str:
    lines = [*_first_answers(results.rows), *_person(results.pairs), *_limits(results.costs)]
    table = _table(["what must hold", "aim", "measured", "reached"], lines)
    return f"### What must hold\n\n{table}" if table else ""


def _first_answers(rows: Sequence[Row]) -> Iterator[list[str]]:
    for measure in ("broadband", "in 300-3400 Hz"):
        for ratio_db, aim in AIMS:
            condition = f"{ratio_db} dB {measure}"
            each = total(rows, system=AUTO, kind=SYNTHETIC, condition=condition)
            if each.count:
                low, _ = interval(each.first, each.count)
                reached = (
                    "no"
                    if 100 * each.first < aim * each.count
                    else "yes"
                    if 100 * low >= aim
                    else "yes, within chance"
                )
                what = f"`auto`, unseen synthetic voices, {condition}: first answers"
                yield [what, f"at least {aim} %", _share(each.first, each.count), reached]


def _person(pairs: Sequence[Pair]) -> Iterator[list[str]]:
    own = {pair.condition: pair for pair in pairs if pair.kind == PERSON}
    if not own:
        return
    what = "`auto` beside PocketSphinx on a person's recordings"
    worse = [pair for pair in own.values() if pair.only_auto < pair.only_pocketsphinx]
    surely = [pair for pair in worse if by_chance(pair) < _BY_CHANCE]
    listed = "; ".join(f"{_differing(pair)}" for pair in surely)
    told = f"fewer first answers in {len(worse)} of {len(own)} conditions, surely in {len(surely)}" + (
        f" ({listed})" if listed else ""
    )
    yield [
        what,
        "no worse in any condition",
        told,
        "no" if surely else "yes" if not worse else "within chance",
    ]
    for ratio_db in (5, 0):
        for measure in ("broadband", "in 300-3400 Hz"):
            pair = own.get(f"{ratio_db} dB {measure}")
            if pair:
                better = pair.only_auto > pair.only_pocketsphinx
                reached = (
                    "yes"
                    if better and by_chance(pair) < _BY_CHANCE
                    else "better, within chance"
                    if better
                    else "no"
                )
                yield [what, f"clearly better at {ratio_db} dB {measure}", _differing(pair), reached]


def _differing(pair: Pair) -> str:
    return (
        f"{pair.condition}: only `auto` right in {pair.only_auto}, only PocketSphinx in {pair.only_pocketsphinx} "
        f"of {pair.count}, p {by_chance(pair):.2g}"
    )


def _limits(costs: Sequence[Cost]) -> Iterator[list[str]]:
    limits: tuple[tuple[str, str, float, Callable[[Cost], float]], ...] = (
        ("share of real time on one core", "under 0.1", MOST_SHARE, lambda each: each.share),
        ("memory", "under 200 MB", MOST_MEMORY_MB, lambda each: each.memory_mb),
        ("first load", "under 1 s", MOST_LOAD_S, lambda each: each.load_s),
        ("stretch to answer, nine in ten", "under 0.4 s", MOST_ANSWER_S, lambda each: each.slow_answer_s),
    )
    for what, aim, most, value in limits:
        own = [each for each in costs if each.system in (CALL_MODEL, AUTO)]
        if own:
            told = ", ".join(f"{each.system} {value(each):.3g}" for each in own)
            reached = ", ".join(f"{each.system} {'yes' if value(each) < most else 'no'}" for each in own)
            yield [what, aim, told, reached]
