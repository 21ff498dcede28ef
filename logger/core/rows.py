"""Entries become rows: the long form, one row per entry, and the wide form, one row per checkpoint. Pure."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from logger.core.columns import (
    DRIVE,
    EVIDENCE,
    LOG,
    NOTE,
    QUANTITIES,
    SHARED_UNITS,
    UNHEARD,
    WIDE_END,
    WIDE_START,
    reading_column,
)
from logger.core.history import history_json, history_of
from logger.core.table import Cell, Table, fixed, plain
from logger.core.units import Distances, convert, convertible, shown_in
from logger.model import Alternative, Decision, Drive, Entry, Place, Status

PlaceAt = Callable[[int], Place | None]
"""Where the car was at an instant of UTC (nanoseconds); None where nobody was measuring."""

MAX_GAP_S = 60.0
"""A place between two fixes further apart than this is left out: half a minute at 110 km/h is 0.9 km from either."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What an entry of one utterance can be traced back to; "" where there is none."""

    clip: str
    recogniser: str


def long_table(
    entries: Iterable[Entry],
    drive: Drive,
    place_at: PlaceAt,
    *,
    distances: Distances | None = None,
    evidence: Mapping[int, Evidence] | None = None,
    decisions: Sequence[Decision] = (),
) -> Table:
    """Return one row per entry, in the order given, with the columns `LOG`.

    Args:
        entries: the log.
        drive: when it began.
        place_at: the track.
        distances: show distances, speeds and efficiencies in miles or kilometres; None leaves them as said.
        evidence: by utterance id. When given, rejected entries are kept and the columns `EVIDENCE` added;
            otherwise rejected entries are left out.
        decisions: what people decided, in that order; told of with `evidence`.
    """
    rows = []
    for entry in entries:
        if entry.status is Status.REJECTED and evidence is None:
            continue
        value, unit = _shown(entry.value, entry.unit, distances)
        at_utc_ns = drive.began_utc_ns + entry.at_ns
        row: tuple[Cell, ...] = (
            entry.id,
            at_utc_ns,
            _seconds(entry.at_ns),
            entry.quantity,
            value,
            _text(unit) if value is not None else None,
            entry.status.value,
            fixed(entry.confidence, 4),
            entry.origin.value,
            _text(entry.heard),
            *_place_cells(place_at(at_utc_ns)),
            _text(entry.note),
            _text(entry.reason),
        )
        if evidence is not None:
            trace = evidence.get(entry.utterance_id, Evidence("", ""))
            alternatives = _alternatives_json(entry.alternatives, distances)
            history = history_json(history_of(entry.id, decisions))
            row += (alternatives, entry.utterance_id, _text(trace.clip), _text(trace.recogniser), history)
        rows.append(row)
    columns = LOG if evidence is None else LOG + EVIDENCE
    return Table("log" if evidence is None else "log-all", columns, tuple(rows))


def wide_table(
    entries: Iterable[Entry],
    drive: Drive,
    place_at: PlaceAt,
    *,
    distances: Distances | None = None,
    shared: bool = False,
) -> Table:
    """Return one row per utterance that has an entry which is not rejected, by time.

    A row's time and place are those of its earliest entry. Each quantity has one column, in the unit it was
    first said in (after `distances`); later values said in another unit are converted to that. A value in doubt is
    shown and its quantity named under `flagged`, as is a quantity said twice in one breath (the later value is
    shown) and one whose value does not exist in the column's unit (the reciprocal of 0).
    With `shared`, which needs `distances`, there is a column for every quantity, in the unit of `SHARED_UNITS`.

    Raises:
        ValueError: `shared` without `distances`.
    """
    if shared and distances is None:
        raise ValueError("columns that drives share are in miles or in kilometres")
    kept = sorted(
        (entry for entry in entries if entry.status is not Status.REJECTED), key=lambda entry: entry.at_ns
    )
    units = dict(SHARED_UNITS[distances]) if shared and distances is not None else {}
    calls: dict[int, list[Entry]] = {}
    for entry in kept:
        calls.setdefault(entry.utterance_id, []).append(entry)
        if entry.quantity not in (NOTE, UNHEARD) and entry.value is not None:
            units.setdefault(entry.quantity, shown_in(entry.unit, distances))
    # Known quantities in their usual order, then whatever else there is in the order it came.
    units = {name: units[name] for name in (*QUANTITIES, *units) if name in units}
    columns = (*WIDE_START, *(reading_column(name, unit) for name, unit in units.items()), *WIDE_END)
    rows = (_wide_row(number, call, units, drive, place_at) for number, call in calls.items())
    return Table("checkpoints", columns, tuple(rows))


def of_several(tables: Iterable[tuple[str, Table]]) -> Table:
    """Return the tables of several drives as one, with the column `DRIVE` first; the tables have the same columns.

    Args:
        tables: at least one, each with the name of its drive.
    """
    named = tuple(tables)
    first = named[0][1]
    rows = tuple((name, *row) for name, table in named for row in table.rows)
    return Table(first.name, (DRIVE, *first.columns), rows)


def _wide_row(
    utterance_id: int, call: list[Entry], units: Mapping[str, str], drive: Drive, place_at: PlaceAt
) -> tuple[Cell, ...]:
    at_ns = call[0].at_ns
    values: dict[str, Decimal | None] = {}
    doubtful: dict[str, None] = {}  # an ordered set
    for entry in call:
        if entry.status is Status.FLAGGED or entry.quantity in values:
            doubtful[entry.quantity] = None
        if entry.quantity not in units or entry.value is None:
            continue
        try:
            values[entry.quantity] = convert(entry.value, entry.unit, units[entry.quantity])
        except ValueError:
            values[entry.quantity] = None
            doubtful[entry.quantity] = None
    notes = "; ".join(entry.note for entry in call if entry.note)
    return (
        utterance_id,
        drive.began_utc_ns + at_ns,
        _seconds(at_ns),
        *_place_cells(place_at(drive.began_utc_ns + at_ns)),
        *(values.get(name) for name in units),
        _text(" ".join(doubtful)),
        _text(notes),
    )


def _shown(value: Decimal | None, unit: str, distances: Distances | None) -> tuple[Decimal | None, str]:
    to = shown_in(unit, distances)
    if value is None or not convertible(unit, to):
        return value, unit
    return convert(value, unit, to), to


def _place_cells(place: Place | None) -> tuple[Cell, Cell, Cell]:
    if place is None or place.gap_s > MAX_GAP_S:
        return (None, None, None)
    # 7 decimals of a degree are 11 mm, 3 of a kilometre are 1 m: both below what a receiver knows.
    return (fixed(place.lat_deg, 7), fixed(place.lon_deg, 7), fixed(place.distance_m / 1000, 3))


def _seconds(at_ns: int) -> Decimal:
    return Decimal(f"{(at_ns + 500_000) // 1_000_000}E-3")


def _text(text: str) -> str | None:
    return text or None


def _alternatives_json(alternatives: Iterable[Alternative], distances: Distances | None) -> str:
    parts = []
    for alternative in alternatives:
        value, unit = _shown(alternative.value, alternative.unit, distances)
        # The number is written by hand: the json module would turn a said 63.0 into a float.
        parts.append(
            f'{{"value": {plain(value) if value is not None else "null"}, "unit": {json.dumps(unit)}, '
            f'"heard": {json.dumps(alternative.heard)}, "confidence": {fixed(alternative.confidence, 4)}}}'
        )
    return f"[{', '.join(parts)}]"
