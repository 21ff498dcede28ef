"""Compared drives as rows: for programs with every interval and flag, for people as short texts. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from logger.core.columns import DRIVE, with_unit
from logger.core.comparing.flags import NAMES, flag_text
from logger.core.comparing.summary import FIGURES, Compared, Conditions
from logger.core.comparing.whole import Beside
from logger.core.results.cells import measure, number, text
from logger.core.results.figures import Absent, Answer, Figure, shown
from logger.core.table import Cell, Column, Kind, Table
from logger.core.units import Distances, shown_in
from logger.core.utc import format_utc

MANY = 12
"""More drives than this are told of as a whole: no eye follows so many lines, nor reads what is wrong with each."""

_CONDITIONS = (
    ("temperature", "degC", "the air outside"),
    ("wind", "km/h", "the wind, as the sheet tells it"),
    ("speed", "km/h", "the median GPS speed while driving"),
    ("start", "%", "the first charge read off"),
    ("usable", "kWh", "the usable energy, as the sheet tells it"),
    ("apart", "km", "from the first place to the last"),
    ("driven", "km", "by GPS"),
    ("climb", "m", "how much higher the last place is than the first"),
)
_PLACES = 3


@dataclass(frozen=True, slots=True)
class Grid:
    """A table of short texts for people: a header, rows alike in length, and which columns are numbers."""

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[bool, ...]


def comparison_table(drives: Sequence[Beside], distances: Distances) -> Table:
    """Return one row a drive: its figures with their intervals, its conditions, and what makes it not comparable."""
    columns: list[Column] = [DRIVE, Column("began", Kind.INSTANT, "", "When it began.")]
    for each in FIGURES:
        unit = shown_in(each.unit, distances)
        why = "it is not known; JSON tells why"
        columns.append(measure(with_unit(each.key, unit), unit, f"{each.label}.", why))
        for end in ("low", "high"):
            meaning = f"The {end} end of its 95 % interval."
            columns.append(measure(with_unit(f"{each.key}_{end}", unit), unit, meaning, "there is none"))
    for name, base, meaning in _CONDITIONS:
        unit = shown_in(base, distances)
        columns.append(
            measure(with_unit(name, unit), unit, f"{meaning[0].upper()}{meaning[1:]}.", "it is not known")
        )
    columns += [
        text("tyres", "What the sheet tells of tyres and wheels.", "it tells nothing"),
        text(
            "measured_by", "What distances are by: gps, trip or odometer.", "there is nothing to measure by"
        ),
        Column("doubts", Kind.INTEGER, "", "How many entries nobody has settled.", lowest=0),
        text("flags", "What makes it not comparable, in words separated by spaces.", "nothing does"),
        text(
            "why", "The same as sentences with their numbers and bounds, separated by `; `.", "nothing does"
        ),
    ]
    return Table("comparison", tuple(columns), tuple(_row(drive, distances) for drive in drives))


def main_columns(distances: Distances) -> tuple[str, ...]:
    """Return the names of the table's columns of figures and conditions, without the ends of intervals."""
    named = [(each.key, each.unit) for each in FIGURES] + [(name, unit) for name, unit, _ in _CONDITIONS]
    return tuple(with_unit(name, shown_in(unit, distances)) for name, unit in named)


def comparison_json(drives: Sequence[Beside], distances: Distances) -> Mapping[str, object]:
    """Return the same as objects, and with each figure what its interval covers, or why there is none."""
    return {"units": distances, "drives": [_object(drive, distances) for drive in drives]}


def comparison_grid(drives: Sequence[Beside], distances: Distances) -> Grid:
    """Return the same as short texts: a figure and its interval, the conditions, the kinds of flags."""
    conditions = (("speed", "km/h"), ("temperature", "degC"), ("wind", "km/h"), ("apart", "km"))
    header = ["drive"]
    header += [_head(each.short, each.unit, distances) for each in FIGURES]
    header += [_head("ends apart" if name == "apart" else name, unit, distances) for name, unit in conditions]
    rows = []
    for drive in drives:
        answers = {line.key: line.answer for line in drive.summary.figures}
        row = [drive.name, *(_figure_text(answers[each.key], each, distances) for each in FIGURES)]
        told = _condition_values(drive.summary.conditions)
        row += [_short(told[name], unit, distances) for name, unit in conditions]
        row.append(", ".join(each.kind for each in drive.flags))
        rows.append(tuple(row))
    header.append("not comparable by")
    numeric = (False, *(True for _ in header[1:-1]), False)
    return Grid(tuple(header), tuple(rows), numeric)


def flag_lines(drives: Sequence[Beside], distances: Distances) -> tuple[str, ...]:
    """Return what makes each drive not comparable, a sentence a line; of many, how many drives each kind is said of."""
    if len(drives) <= MANY:
        return tuple(
            f"{drive.name}: {flag_text(flag, distances)}" for drive in drives for flag in drive.flags
        )
    return flag_counts(drives)


def flag_counts(drives: Sequence[Beside]) -> tuple[str, ...]:
    """Return of how many drives each kind of flag is said, the most frequent first."""
    counts = Counter(kind for drive in drives for kind in {flag.kind for flag in drive.flags})
    return tuple(
        f"{kind}: {NAMES[kind]}: {count} of {len(drives)} drives"
        for kind, count in sorted(counts.items(), key=lambda each: (-each[1], each[0]))
    )


def _row(drive: Beside, distances: Distances) -> tuple[Cell, ...]:
    cells: list[Cell] = [drive.name, drive.summary.began_utc_ns]
    for line in drive.summary.figures:
        figure = _shown(line.answer, distances)
        ends = (None, None, None) if figure is None else (figure.value, figure.low, figure.high)
        cells += [number(end, _PLACES) for end in ends]
    told = _condition_values(drive.summary.conditions)
    cells += [number(_converted(told[name], unit, distances), _PLACES) for name, unit, _ in _CONDITIONS]
    kinds = " ".join(dict.fromkeys(each.kind for each in drive.flags))
    why = "; ".join(flag_text(each, distances) for each in drive.flags)
    here = drive.summary.conditions
    return (*cells, here.tyres, here.ruler or None, here.doubts, kinds or None, why or None)


def _object(drive: Beside, distances: Distances) -> Mapping[str, object]:
    here = drive.summary.conditions
    told = _condition_values(here)
    return {
        "drive": drive.name,
        "began": format_utc(drive.summary.began_utc_ns),
        "figures": {line.key: _answer_object(line.answer, distances) for line in drive.summary.figures},
        "conditions": {
            **{
                name: {"value": number(_converted(told[name], unit, distances), _PLACES), "unit": shown_in(unit, distances)}
                for name, unit, _ in _CONDITIONS
            },
            "charged": here.charged or None,
            "tyres": here.tyres,
            "measured_by": here.ruler or None,
            "doubts": here.doubts,
        },
        "flags": [
            {"kind": each.kind, "value": each.value, "others": each.others, "bound": each.bound, "unit": each.unit, "why": flag_text(each, distances)}
            for each in drive.flags
        ],
    }  # fmt: skip


def _answer_object(answer: Answer, distances: Distances) -> Mapping[str, object]:
    figure = _shown(answer, distances)
    if figure is None or isinstance(answer, Absent):
        return {"value": None, "why": answer.why if isinstance(answer, Absent) else ""}
    return {
        "value": number(figure.value, _PLACES),
        "low": number(figure.low, _PLACES),
        "high": number(figure.high, _PLACES),
        "unit": figure.unit,
        "covers": figure.covers,
        "estimate": figure.estimate,
        "remark": figure.remark,
    }


def _condition_values(here: Conditions) -> Mapping[str, float | None]:
    return {
        "temperature": here.temperature_c,
        "wind": here.wind_kmh,
        "speed": here.speed_kmh,
        "start": here.start_pct,
        "usable": here.usable_kwh,
        "apart": here.apart_km,
        "driven": here.driven_km,
        "climb": here.climb_m,
    }


def _shown(answer: Answer, distances: Distances) -> Figure | None:
    return None if isinstance(answer, Absent) else shown(answer, distances)


def _converted(value: float | None, unit: str, distances: Distances) -> float | None:
    return None if value is None else shown(Figure(value, unit), distances).value


def _head(name: str, unit: str, distances: Distances) -> str:
    return f"{name}\n{shown_in(unit, distances)}"


def _figure_text(answer: Answer, figure: Compared, distances: Distances) -> str:
    told = _shown(answer, distances)
    if told is None:
        return "-"
    ends = (
        ""
        if told.low is None or told.high is None
        else f" ({told.low:.{figure.places}f} to {told.high:.{figure.places}f})"
    )
    return f"{told.value:.{figure.places}f}{ends}"


def _short(value: float | None, unit: str, distances: Distances) -> str:
    told = _converted(value, unit, distances)
    return "-" if told is None else f"{told:.1f}"
