"""What of a drive goes on a map: the way it was driven, in pieces that somebody measured, and its checkpoints. Pure."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from logger.core.columns import QUANTITY_OF
from logger.core.fixes import is_leap
from logger.core.geodesy import step_lengths_m
from logger.core.rows import MAX_GAP_S
from logger.core.table import Cell, Column, Table, plain
from logger.core.times import time_of_day_text
from logger.core.track import Track

Position = tuple[float, float]
"""Longitude and latitude in degrees, in this order."""

_NANO = 1e9


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """A drive as it goes on a map.

    Attributes:
        name: which drive it is.
        began_utc_ns: when it began.
        track: where the car was.
        checkpoints: the wide form of its log.
    """

    name: str
    began_utc_ns: int
    track: Track
    checkpoints: Table


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """A row of the wide form, as a map has it.

    Attributes:
        number: the utterance it was said in.
        at_utc_ns: when.
        place: None where nobody knows it.
        title: its few words: the charge where that was read off, else what was noted.
        told: all that was read off and noted, in one sentence without a full stop.
    """

    number: int
    at_utc_ns: int
    place: Position | None
    title: str
    told: str


def pieces(track: Track) -> tuple[slice, ...]:
    """Return the stretches of a track that may be drawn as a line: cut where the log, too, knows no place, and at leaps."""
    seconds = np.diff(track.utc_ns).astype(np.float64) / _NANO
    apart = (seconds > MAX_GAP_S) | is_leap(seconds, step_lengths_m(track.lat_deg, track.lon_deg))
    edges = [0, *(np.flatnonzero(apart) + 1).tolist(), len(track.utc_ns)]
    return tuple(slice(start, stop) for start, stop in itertools.pairwise(edges))


def cut_at_the_antimeridian(line: Sequence[Position]) -> tuple[tuple[Position, ...], ...]:
    """Return a line as lines of which none crosses the meridian of 180 degrees, as RFC 7946 section 3.1.9 asks for.

    The way between two positions is the short one. Lines of one position are left out, unless there is no other.
    """
    lines: list[list[Position]] = [[line[0]]]
    for (from_lon, from_lat), (to_lon, to_lat) in itertools.pairwise(line):
        if abs(to_lon - from_lon) > 180.0:
            edge = 180.0 if from_lon > 0.0 else -180.0
            way = to_lon + 2.0 * edge - from_lon
            share = (edge - from_lon) / way if way else 0.0
            lat = from_lat + share * (to_lat - from_lat)
            lines[-1].append((edge, lat))
            lines.append([(-edge, lat)])
        lines[-1].append((to_lon, to_lat))
    without_repeats = [
        [each for index, each in enumerate(one) if index == 0 or each != one[index - 1]] for one in lines
    ]
    long = tuple(tuple(one) for one in without_repeats if len(one) > 1)
    return long or (tuple(without_repeats[0][:1]),)


def checkpoints_of(table: Table) -> tuple[Checkpoint, ...]:
    """Return the checkpoints of a wide form."""
    return tuple(
        _checkpoint(table.columns, dict(zip((each.name for each in table.columns), cells, strict=True)))
        for cells in table.rows
    )


def _checkpoint(columns: Sequence[Column], row: Mapping[str, Cell]) -> Checkpoint:
    read = {
        each.name: _value(QUANTITY_OF[each.name], row[each.name], each.unit)
        for each in columns
        if each.name in QUANTITY_OF and row[each.name] is not None
    }
    note, doubt = row["note"], row["flagged"]
    told = [f"{QUANTITY_OF[name].replace('_', ' ')} {value}" for name, value in read.items()]
    told += [f"note: {note}"] if note else []
    told += [f"in doubt: {str(doubt).replace('_', ' ')}"] if doubt else []
    lon_deg, lat_deg = row["lon_deg"], row["lat_deg"]
    return Checkpoint(
        number=int(row["checkpoint"] or 0),
        at_utc_ns=int(row["at"] or 0),
        place=None if lon_deg is None or lat_deg is None else (float(lon_deg), float(lat_deg)),
        title=read.get("charge_pct") or str(note or "checkpoint"),
        told=", ".join(told),
    )


def _value(quantity: str, value: Cell, unit: str) -> str:
    if not isinstance(value, Decimal):
        return str(value)
    return time_of_day_text(value) if quantity == "clock" else f"{plain(value)} {unit}"
