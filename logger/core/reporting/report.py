"""A report: all that its pages show, in words, in the order they show it. Pure records."""

from __future__ import annotations

from dataclasses import dataclass

from logger.core.reporting.chart_words import Chart
from logger.core.reporting.table_words import TableText


@dataclass(frozen=True, slots=True)
class LineText:
    """One figure in words.

    Attributes:
        label: its name.
        value: the number as rounded, "" where there is none.
        unit: as written after it.
        interval: its 95 % interval, "" where there is none.
        covers: what the interval covers.
        estimate: whether it rests on assumptions.
        remark: what a reader should not miss.
        why: why there is no figure, "" where there is one.
    """

    label: str
    value: str
    unit: str
    interval: str
    covers: str
    estimate: bool
    remark: str
    why: str


@dataclass(frozen=True, slots=True)
class SectionText:
    """Figures that belong together, in words. `key` is their name for programs."""

    key: str
    title: str
    lines: tuple[LineText, ...]
    tables: tuple[TableText, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MethodText:
    """How some figures come about, in one sentence, and where docs/method.md has the formulas: the heading there."""

    text: str
    heading: str


@dataclass(frozen=True, slots=True)
class Report:
    """All that a report shows.

    Attributes:
        name: the drive's.
        facts: when it began and the like: name and text.
        state: what is to be said of the drive itself, such as that it has not ended.
        doubts: what is not settled and what it may change; () where nothing is.
        settle: how to settle it.
        answer: the few figures that people ask for first.
        sheet: what the sheet tells, as told: name and text.
        conditions: the figures about them, without tables.
        charts: all, those that are missing too.
        sections: all other figures.
        checkpoints: one row per call.
        doubtful: the entries in doubt.
        decisions: what people decided.
        method: how it is computed.
        cautions: what whoever uses the figures must have read.
        written_by: the program and its version.
    """

    name: str
    facts: tuple[tuple[str, str], ...]
    state: tuple[str, ...]
    doubts: tuple[str, ...]
    settle: str
    answer: SectionText
    sheet: tuple[tuple[str, str], ...]
    conditions: tuple[SectionText, ...]
    charts: tuple[Chart, ...]
    sections: tuple[SectionText, ...]
    checkpoints: TableText
    doubtful: TableText
    decisions: TableText
    method: tuple[MethodText, ...]
    cautions: tuple[str, ...]
    written_by: str
