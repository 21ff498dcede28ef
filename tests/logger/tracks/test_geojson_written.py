"""GeoJSON as it is written: by geojson-pydantic and geojson-validator valid under RFC 7946, with the drive's places in it."""

from __future__ import annotations

import io
import json
import re
from typing import Any

import geojson_validator
import pytest
from charted import chart, eastward, fix
from geojson_pydantic import FeatureCollection
from geojson_pydantic.features import Feature
from geojson_pydantic.geometries import Geometry

from logger.core.chart import Chart
from logger.core.utc import parse_utc_ns
from logger.tracks import WRITERS

COLLECTION = FeatureCollection[Feature[Geometry, dict[str, Any]]]


def written(*charts: Chart) -> str:
    """The document."""
    stream = io.BytesIO()
    WRITERS["geojson"](charts, stream)
    return stream.getvalue().decode()


def features(*charts: Chart) -> list[dict[str, Any]]:
    """The features of the document, which is valid JSON."""
    return list(json.loads(written(*charts))["features"])


DRIVES = {
    "one line": [chart(eastward(range(60)))],
    "with gaps": [chart(eastward([*range(60), *range(200, 260), 400]))],
    "over the antimeridian": [chart(eastward(range(60), from_lon_deg=179.995))],
    "all gaps": [chart(eastward([0, 100, 200]))],
    "one fix": [chart(eastward([3]), entries=())],
    "two drives": [chart(eastward(range(9))), chart(eastward(range(9), lat_deg=-33.0), name="other")],
}
LINES = {
    "one line": ("LineString", 1),
    "with gaps": ("MultiLineString", 2),
    "over the antimeridian": ("MultiLineString", 2),
    "all gaps": ("MultiPoint", 3),
    "one fix": ("MultiPoint", 1),
    "two drives": ("LineString", 1),
}


@pytest.mark.parametrize("drives", DRIVES.values(), ids=DRIVES)
def test_it_is_valid(drives: list[Chart]) -> None:
    """Both outside validators accept it: members and types, no crs, nothing outside the globe.

    Crossings are asked about in tests/logger/core/test_chart.py: geojson-validator takes 180 for -180, and so would refuse
    the RFC's own example.
    """
    text = written(*drives)
    COLLECTION.model_validate_json(text)
    located = json.loads(text)
    located["features"] = [each for each in located["features"] if each["geometry"]]

    assert {} == geojson_validator.validate_structure(json.loads(text), check_crs=True)
    found = geojson_validator.validate_geometries(
        located,
        criteria_problematic=(
            "outside_lat_lon_boundaries",
            "3d_coordinates",
        ),
    )
    assert ({}, {}) == (found["invalid"], {k: v for k, v in found["problematic"].items() if v})


def test_what_is_not_valid_would_be_seen() -> None:
    """The validators refuse what they are there to refuse."""
    text = written(chart(eastward(range(9))))

    assert geojson_validator.validate_structure(json.loads(text.replace('"Feature"', '"Thing"', 1)))
    with pytest.raises(ValueError, match="geometry"):
        COLLECTION.model_validate_json(text.replace('"LineString"', '"Line"', 1))


@pytest.mark.parametrize("name", DRIVES)
def test_the_way(name: str) -> None:
    """A line, several where there are gaps or where it is cut, points where nothing may be joined."""
    way = features(*DRIVES[name])[0]
    coordinates = way["geometry"]["coordinates"]

    assert LINES[name] == (way["geometry"]["type"], len(coordinates) if LINES[name][0] != "LineString" else 1)
    assert "way" == way["properties"]["kind"]


def test_positions_are_longitude_and_latitude() -> None:
    """The first position is the first fix, to seven decimals, longitude first, and without a height."""
    way = features(chart(eastward(range(60))))[0]

    assert [0.5, 45.1234568] == way["geometry"]["coordinates"][0]
    assert 60 == len(way["geometry"]["coordinates"])
    assert all(
        len(re.sub(r".*\.", "", str(each))) <= 7
        for lon_lat in way["geometry"]["coordinates"]
        for each in lon_lat
    )


def test_a_checkpoint_has_its_row() -> None:
    """Properties are the columns of the wide form, with their said digits; the last call has no place, so no geometry."""
    text = written(chart(eastward(range(60))))
    points = features(chart(eastward(range(60))))[1:]

    assert ["checkpoint"] * 4 == [each["properties"]["kind"] for each in points]
    assert {"type": "Point", "coordinates": [0.5031829, 45.1234568]} == points[0]["geometry"]
    first = points[0]["properties"]
    assert (80, 0.2, "charge 80 %, trip 0.2 mi") == (first["charge_pct"], first["trip_mi"], first["told"])
    assert "2031-05-03T07:00:10.000Z" == first["at"]
    assert "range_left" == points[2]["properties"]["flagged"]
    assert points[3]["geometry"] is None
    assert '"elapsed_s": 10.000' in text


def test_the_way_says_when_and_how_far() -> None:
    """The properties of the way: its drive, its ends, its length by GPS."""
    about = features(chart(eastward(range(60)), name="Küste"))[0]["properties"]

    assert "Küste" == about["drive"]
    assert 59 * 10**9 == parse_utc_ns(about["ended"]) - parse_utc_ns(about["began"])
    assert pytest.approx(59 * 24.3 / 1000.0, abs=0.01) == about["gps_distance_km"]


def test_a_place_at_the_edge_is_not_lost() -> None:
    """A drive that comes to 180 degrees, told as -180, and turns back there has both ways, up to the edge."""
    fixes = [fix(0, 10.0, 179.9999), fix(4, 10.0, -180.0), fix(8, 10.0, 179.9998)]
    way = features(chart(fixes, entries=()))[0]["geometry"]

    assert [[[179.9999, 10.0], [180.0, 10.0]], [[180.0, 10.0], [179.9998, 10.0]]] == way["coordinates"]
