"""Results and what was recorded become a report. Pure."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from logger.core.decided import withdrawals
from logger.core.history import Step, content_text, step_text
from logger.core.reporting.chart_words import Along, along, charts_of
from logger.core.reporting.figure_words import ShownUnits, figure_text, unit_text
from logger.core.reporting.methods import METHODS
from logger.core.reporting.report import LineText, Report, SectionText
from logger.core.reporting.sentence_words import doubt_text, sentence_text
from logger.core.reporting.table_words import HeaderText, TableText, table_text, words
from logger.core.results.figures import Absent, Line, Section
from logger.core.results.told import KNOWN
from logger.core.results.whole import Results
from logger.core.rows import PlaceAt, wide_table
from logger.core.table import Table
from logger.core.times import elapsed_text
from logger.core.utc import format_utc
from logger.model import Alternative, Decision, Entry, Status

CONDITIONS = ("conditions", "air", "wind", "altitude")
"""The keys of the sections whose figures stand right below the answer; their tables come later."""
_ALTERNATIVES = 3
_PLACE = frozenset({"checkpoint", "at", "lat_deg", "lon_deg"})
"""Columns of the log's wide form that a report leaves out: `odovox log` has them."""

_HEADERS: Mapping[str, str] = {"Flagged": "In doubt"}
"""What some columns of the log are called in a report."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """What a report tells of a drive besides its results.

    Attributes:
        name: the drive's.
        entries: all, rejected ones too.
        decisions: what people decided, in that order.
        place_at: the track.
        state: what is to be said of the drive itself, a sentence each.
        software: the program that writes the report, and its version.
    """

    name: str
    entries: tuple[Entry, ...]
    decisions: tuple[Decision, ...]
    place_at: PlaceAt
    state: tuple[str, ...]
    software: str


def report_of(results: Results, recorded: Recorded, units: ShownUnits) -> Report:
    """Return the report on a drive."""
    sections = [_section(each, units) for each in results.sections]
    conditions = tuple(each for key in CONDITIONS for each in sections if each.key == key)
    return Report(
        name=recorded.name,
        facts=_facts(results, recorded),
        state=recorded.state,
        doubts=tuple(doubt_text(each, units) for each in results.doubts),
        settle=f"odovox review {shlex.quote(recorded.name)}",
        answer=_section(results.answer, units),
        sheet=tuple(_told(key, value) for key, value in results.observed.test.items()),
        conditions=tuple(replace(each, tables=()) for each in conditions),
        charts=charts_of(results.series, units, axis_of(results)),
        sections=tuple(
            _detail(each) if each in conditions else each
            for each in sections
            if each not in conditions or each.tables
        ),
        checkpoints=_checkpoints(results, recorded, units),
        doubtful=_doubtful(results.observed.doubts),
        decisions=_decisions(recorded),
        method=METHODS,
        cautions=tuple(sentence_text(each, units) for each in results.cautions),
        written_by=recorded.software,
    )


def axis_of(results: Results) -> Along:
    """Return what the charts go along."""
    return along(by_gps=results.observed.track is not None)


def _facts(results: Results, recorded: Recorded) -> tuple[tuple[str, str], ...]:
    counts = dict.fromkeys(Status, 0)
    for entry in recorded.entries:
        counts[entry.status] += 1
    told = ", ".join(
        f"{counts[status]} {name}"
        for status, name in (
            (Status.ACCEPTED, "accepted"),
            (Status.CORRECTED, "corrected by a person"),
            (Status.FLAGGED, "in doubt"),
            (Status.REJECTED, "rejected"),
        )
        if counts[status]
    )
    facts = [("Began", format_utc(results.observed.drive.began_utc_ns)[:-5].replace("T", " ") + " UTC")]
    if recorded.entries:
        facts.append(("Last entry after", elapsed_text(max(each.at_ns for each in recorded.entries) / 1e9)))
    facts.append(("Entries", f"{len(recorded.entries)} ({told})" if told else "none"))
    facts.append(("Track by GPS", "yes" if results.observed.track is not None else "none"))
    return tuple(facts)


def _section(section: Section, units: ShownUnits) -> SectionText:
    return SectionText(
        section.key,
        section.title,
        tuple(_line(each, units) for each in section.lines),
        tuple(table_text(each, units) for each in section.tables if each.rows),
        tuple(sentence_text(each, units) for each in section.remarks),
    )


def _detail(section: SectionText) -> SectionText:
    """Return what of a section comes later, its lines and remarks being told with the conditions."""
    return replace(section, title=f"{section.title}, in detail", lines=(), remarks=())


def _line(line: Line, units: ShownUnits) -> LineText:
    label = sentence_text(line.label, units)
    if isinstance(line.answer, Absent):
        return LineText(label, "", "", "", "", False, "", sentence_text(line.answer.why, units))
    figure = line.answer
    text = figure_text(figure, units)
    return LineText(
        label,
        text.value,
        text.unit,
        text.interval,
        sentence_text(figure.covers, units) if text.interval else "",
        figure.estimate,
        sentence_text(figure.remark, units),
        "",
    )


def _told(key: str, value: str | float) -> tuple[str, str]:
    """Return what the sheet tells under a key, in its own unit: `temperature_degC = 17` is "Temperature", "17 °C"."""
    text = ("yes" if value else "no") if isinstance(value, bool) else str(value)
    for unit in _TOLD_UNITS:
        if key.endswith(f"_{unit}") and not isinstance(value, str | bool):
            return words(key.removesuffix(f"_{unit}")), f"{text} {unit_text(_TOLD_UNITS[unit])}"
    return words(key), text


_TOLD_UNITS: Mapping[str, str] = {
    ending: unit for known in KNOWN.values() for ending, unit in known.units.items() if ending
}
"""By how a key of the sheet ends."""


def _checkpoints(results: Results, recorded: Recorded, units: ShownUnits) -> TableText:
    whole = wide_table(recorded.entries, results.observed.drive, recorded.place_at, distances=units.distances)
    kept = [index for index, column in enumerate(whole.columns) if column.name not in _PLACE]
    columns = tuple(whole.columns[index] for index in kept)
    rows = tuple(tuple(row[index] for index in kept) for row in whole.rows)
    text = table_text(Table("checkpoints", columns, rows), units)
    headers = tuple(replace(each, text=_HEADERS.get(each.text, each.text)) for each in text.headers)
    doubt = next((index for index, each in enumerate(headers) if each.text == "In doubt"), None)
    told = tuple(
        tuple(_named(cell) if index == doubt else cell for index, cell in enumerate(row)) for row in text.rows
    )
    return TableText(text.title, headers, told)


def _named(quantities: str) -> str:
    """Return quantities as people name them: "trip, range left"."""
    return ", ".join(each.replace("_", " ") for each in quantities.split())


def _doubtful(doubts: Iterable[Entry]) -> TableText:
    headers = (
        HeaderText("Entry", "its name in the log", numeric=False),
        HeaderText("After", "time since the drive began", numeric=True),
        HeaderText("What was heard", "the likeliest meaning", numeric=False),
        HeaderText("Why it is in doubt", "", numeric=False),
        HeaderText("What else it may be", "best first", numeric=False),
    )
    rows = tuple(
        (
            each.id,
            elapsed_text(each.at_ns / 1e9),
            content_text(each.quantity, each.value, each.unit, each.note),
            each.reason,
            ", ".join(_alternative(each.quantity, other) for other in each.alternatives[:_ALTERNATIVES]),
        )
        for each in doubts
    )
    return TableText("Entries in doubt", headers, rows)


def _alternative(quantity: str, other: Alternative) -> str:
    return content_text(quantity, other.value, other.unit, "").removeprefix(f"{quantity.replace('_', ' ')} ")


def _decisions(recorded: Recorded) -> TableText:
    headers = (
        HeaderText("Number", "in the order decided", numeric=True),
        HeaderText("When", "UTC", numeric=False),
        HeaderText("Who", "", numeric=False),
        HeaderText("Entry", "its name in the log", numeric=False),
        HeaderText("What was decided, and why", "", numeric=False),
    )
    return TableText("Decisions", headers, tuple(_decision(each) for each in steps(recorded.decisions)))


def steps(decisions: Sequence[Decision]) -> tuple[Step, ...]:
    """Return decisions, each with the one that withdrew it."""
    gone = withdrawals(decisions)
    return tuple(Step(each, gone.get(each.id)) for each in decisions)


def _decision(step: Step) -> tuple[str, ...]:
    decision = step.decision
    when = format_utc(decision.at_utc_ns)[:-5].replace("T", " ")
    return (str(decision.id), when, decision.who, decision.entry_id or "new", step_text(step))
