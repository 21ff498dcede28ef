"""Step lengths on the ellipsoid, against geographiclib, published lines and a real track."""

from __future__ import annotations

from pathlib import Path

import gpxpy
import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from geographiclib.test.test_geodesic import GeodesicTest
from gpxpy_files import gpxpy_file
from hypothesis import given
from hypothesis import strategies as st

from logger.core.geodesy import SHORT_STEP_M, step_lengths_m, steps_m, wrapped_deg


def length_m(lat1: float, lon1: float, lat2: float, lon2: float) -> float:
    """The length of one step."""
    return float(step_lengths_m(np.array([lat1, lat2]), np.array([lon1, lon2]))[0])


@pytest.mark.parametrize("line", GeodesicTest.testcases)
def test_published_lines(line: list[float]) -> None:
    """The test lines that geographiclib publishes in its wheel (Karney's set) come out to the millimetre."""
    lat1, lon1, _, lat2, lon2, _, published_m = line[:7]

    assert published_m == pytest.approx(length_m(lat1, lon1, lat2, lon2), abs=1e-3)


def test_flinders_peak_to_buninyong() -> None:
    """The Australian reference line, 54 972.271 m by geographiclib and pyproj (check-values.md section 4)."""
    flinders = (-(37 + 57 / 60 + 3.72030 / 3600), 144 + 25 / 60 + 29.52440 / 3600)
    buninyong = (-(37 + 39 / 60 + 10.15610 / 3600), 143 + 55 / 60 + 35.38390 / 3600)

    assert pytest.approx(54_972.2711392, abs=1e-5) == length_m(*flinders, *buninyong)


@given(
    lat=st.floats(-89.0, 89.0),
    lon=st.floats(-180.0, 180.0),
    azimuth=st.floats(0.0, 360.0),
    step=st.floats(0.1, SHORT_STEP_M),
)
def test_short_steps_agree_with_geographiclib(lat: float, lon: float, azimuth: float, step: float) -> None:
    """Any step up to 1 km, anywhere but at the poles, also over the date line, is right within 1e-6 of itself."""
    end = Geodesic.WGS84.Direct(lat, lon, azimuth, step)

    # 1e-8 m of it is the rounding of degrees near 180.
    assert step == pytest.approx(length_m(lat, lon, end["lat2"], end["lon2"]), rel=1e-6, abs=1e-7)


def test_direction_is_that_of_the_geodesic() -> None:
    """East and north of a step are its length by its azimuth, short and long, as geographiclib has them."""
    for step in (100.0, 50_000.0):
        end = Geodesic.WGS84.Direct(45.0, 13.0, 30.0, step)
        east, north = steps_m(np.array([45.0, end["lat2"]]), np.array([13.0, end["lon2"]]))

        assert pytest.approx(step * 0.5, rel=1e-4) == float(east[0])
        assert pytest.approx(step * 0.75**0.5, rel=1e-4) == float(north[0])


def test_a_sphere_would_be_caught() -> None:
    """The mean-radius haversine is 0.085 % short on the Australian line (check-values.md); ours is not that."""
    haversine_m = 54_925.508

    assert length_m(-37.951033417, 144.424867889, -37.652821139, 143.926495528) > haversine_m + 40.0


@pytest.mark.parametrize(
    ("name", "count", "geodesic_m"),
    [
        ("around-visnjan-with-car.gpx", 104, 2_736.00),
        ("cerknicko-jezero.gpx", 296, 4_576.91),
        ("korita-zbevnica.gpx", 871, 14_914.28),
    ],
)
def test_real_tracks(name: str, count: int, geodesic_m: float, tmp_path: Path) -> None:
    """Real tracks add up, segment by segment, to the sums of check-values.md section 9 and of geographiclib itself."""
    document = gpxpy.parse(gpxpy_file(name, tmp_path).read_text(encoding="utf-8"))
    segments = [segment.points for track in document.tracks for segment in track.segments]
    ours = library = 0.0
    for points in segments:
        lat, lon = np.array([p.latitude for p in points]), np.array([p.longitude for p in points])
        ours += float(step_lengths_m(lat, lon).sum())
        library += sum(
            Geodesic.WGS84.Inverse(lat[k], lon[k], lat[k + 1], lon[k + 1])["s12"]
            for k in range(len(points) - 1)
        )

    assert count == sum(len(points) for points in segments)
    assert pytest.approx(library, rel=1e-7) == ours
    assert pytest.approx(geodesic_m, abs=0.006) == ours


def test_longitudes_go_the_short_way() -> None:
    """359 degrees east is one degree west."""
    assert [-1.0, 1.0, -180.0] == wrapped_deg(np.array([359.0, -359.0, 180.0])).tolist()
