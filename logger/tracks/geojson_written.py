"""Drives as GeoJSON (RFC 7946): each way a line, each checkpoint a point with its row of the wide form."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import BinaryIO

from logger.core.chart import Chart, Position, checkpoints_of, cut_at_the_antimeridian, pieces
from logger.core.json_text import json_text
from logger.core.table import Cell, Column, Kind
from logger.core.track import Track
from logger.core.utc import format_utc

_PLACES = 7
"""Decimals of a degree: 11 mm. RFC 7946 section 11.2 asks for no more than are meant."""


def write_geojson(charts: Iterable[Chart], stream: BinaryIO) -> None:
    """Write drives, at least one, as one FeatureCollection in UTF-8, a feature a line.

    Positions are longitude and latitude; altitudes are left out, since GeoJSON counts them from the ellipsoid and
    receivers from the sea. A checkpoint without a place is a feature whose geometry is null.

    Raises:
        OSError: the stream cannot be written.
    """
    between = b'{"type": "FeatureCollection", "features": [\n'
    for chart in charts:
        for feature in (_way(chart), *_checkpoints(chart)):
            stream.write(between)
            stream.write(json_text(feature).encode())
            between = b",\n"
    stream.write(b"\n]}\n")


def _way(chart: Chart) -> Mapping[str, object]:
    track = chart.track
    return _feature(
        _line(track),
        {
            "drive": chart.name,
            "kind": "way",
            "began": format_utc(track.began_utc_ns),
            "ended": format_utc(track.ended_utc_ns),
            "gps_distance_km": round(track.length_m / 1000.0, 3),
        },
    )


def _line(track: Track) -> Mapping[str, object]:
    """Return the way as a line, as several where it has gaps, or as points where all of it is gaps."""
    positions = list(
        zip(track.lon_deg.round(_PLACES).tolist(), track.lat_deg.round(_PLACES).tolist(), strict=True)
    )
    cut = [line for piece in pieces(track) for line in cut_at_the_antimeridian(positions[piece])]
    lines = [line for line in cut if len(line) > 1]
    if not lines:
        return {"type": "MultiPoint", "coordinates": positions}
    if len(lines) == 1:
        return {"type": "LineString", "coordinates": lines[0]}
    return {"type": "MultiLineString", "coordinates": lines}


def _checkpoints(chart: Chart) -> Iterable[Mapping[str, object]]:
    columns = chart.checkpoints.columns
    for told, cells in zip(checkpoints_of(chart.checkpoints), chart.checkpoints.rows, strict=True):
        properties: dict[str, object] = {
            "drive": chart.name,
            "kind": "checkpoint",
            "title": told.title,
            "told": told.told,
        }
        properties |= {
            column.name: _value(column, cell)
            for column, cell in zip(columns, cells, strict=True)
            if column.name not in {"lat_deg", "lon_deg"}
        }
        yield _feature(_point(told.place), properties)


def _point(place: Position | None) -> Mapping[str, object] | None:
    return None if place is None else {"type": "Point", "coordinates": place}


def _value(column: Column, cell: Cell) -> object:
    return format_utc(int(cell)) if column.kind is Kind.INSTANT and cell is not None else cell


def _feature(geometry: Mapping[str, object] | None, properties: Mapping[str, object]) -> Mapping[str, object]:
    return {"type": "Feature", "geometry": geometry, "properties": properties}
