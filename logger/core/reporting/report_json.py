"""A report for programs: one JSON object. Pure.

docs/report.md says what its members mean; `logger/cli/report.schema.json` is its JSON Schema.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass

import numpy as np

from logger.core.decided import about_id
from logger.core.history import Step, step_members
from logger.core.json_text import json_text
from logger.core.reporting.figure_words import ShownUnits, figure_text, in_units
from logger.core.reporting.making import Recorded, steps
from logger.core.reporting.sentence_words import doubt_text, sentence_text
from logger.core.results.figures import Absent, Line, Section
from logger.core.results.whole import Results
from logger.core.table import Cell, Column, Kind, Table
from logger.core.utc import format_utc
from logger.model import Entry

_DIGITS = 9
"""Significant digits of a number: more than any of them knows, few enough to be free of the dust of binary fractions."""


def report_json(results: Results, recorded: Recorded, units: ShownUnits) -> str:
    """Return a report as one line of JSON (RFC 8259)."""
    seen = results.observed
    return json_text(
        {
            "written_by": recorded.software,
            "drive": {
                "name": recorded.name,
                "began": format_utc(seen.drive.began_utc_ns),
                "entries": len(recorded.entries),
                "has_track": seen.track is not None,
                "state": recorded.state,
            },
            "shown_in": {"distances": units.distances, "temperatures": units.temperatures},
            "settled": not (results.doubts or seen.doubts),
            "doubts": [doubt_text(each, units) for each in results.doubts],
            "doubtful_entries": [_doubtful(each) for each in seen.doubts],
            "answer": _section(results.answer, units),
            "sheet": dict(seen.test),
            "sections": [_section(each, units) for each in results.sections],
            "decisions": [_decision(each) for each in steps(recorded.decisions)],
            "series": _series(results.series),
            "cautions": [sentence_text(each, units) for each in results.cautions],
        }
    )


def _section(section: Section, units: ShownUnits) -> dict[str, object]:
    return {
        "key": section.key,
        "title": section.title,
        "figures": [_line(each, units) for each in section.lines],
        "tables": [_table(each) for each in section.tables],
        "remarks": [sentence_text(each, units) for each in section.remarks],
    }


def _line(line: Line, units: ShownUnits) -> dict[str, object]:
    about: dict[str, object] = {"key": line.key, "label": sentence_text(line.label, units)}
    if isinstance(line.answer, Absent):
        return about | {"why": sentence_text(line.answer.why, units)}
    figure = line.answer
    told = in_units(figure, units)
    return about | {
        "value": number(figure.value),
        "low": number(figure.low),
        "high": number(figure.high),
        "unit": figure.unit,
        "covers": sentence_text(figure.covers, units),
        "estimate": figure.estimate,
        "remark": sentence_text(figure.remark, units),
        "shown": {
            "value": number(told.value),
            "low": number(told.low),
            "high": number(told.high),
            "unit": told.unit,
            "text": figure_text(figure, units).whole,
        },
    }


def _table(table: Table) -> dict[str, object]:
    return {
        "key": table.name,
        "columns": [
            {"name": each.name, "unit": each.unit, "meaning": each.meaning} for each in table.columns
        ],
        "rows": [
            {column.name: _cell(cell, column) for cell, column in zip(row, table.columns, strict=True)}
            for row in table.rows
        ],
    }


def _cell(cell: Cell, column: Column) -> object:
    if column.kind is Kind.INSTANT and isinstance(cell, int):
        return format_utc(cell)
    return cell


def _doubtful(entry: Entry) -> dict[str, object]:
    return {
        "entry_id": entry.id,
        "elapsed_s": number(entry.at_ns / 1e9),
        "quantity": entry.quantity,
        "value": entry.value,
        "unit": entry.unit,
        "reason": entry.reason,
    }


def _decision(step: Step) -> dict[str, object]:
    return {"entry_id": about_id(step.decision)} | step_members(step)


def _series(value: object) -> object:
    """Return a record of series as its members; what is not known in an array is null."""
    if isinstance(value, np.ndarray):
        return [number(each) for each in value.tolist()]
    if is_dataclass(value):
        return {each.name: _series(getattr(value, each.name)) for each in fields(value)}
    return number(value) if isinstance(value, float) else value


def number(value: float | None) -> float | None:
    """Return a number with so many digits as anybody may believe.

    >>> number(0.1 + 0.2), number(None)
    (0.3, None)
    """
    return None if value is None else float(f"{value:.{_DIGITS}g}")
