"""Lengths of steps on the WGS84 ellipsoid, for many short steps at once. Pure.

A step shorter than `SHORT_STEP_M` is measured in the ellipsoid's own metric at its middle latitude: the
meridional radius M north-south, the parallel's radius N cos(lat) east-west (the mid-latitude formula; the radii
are those of Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395, equations 4-18 to 4-20,
cited from memory; the tests hold the result to geographiclib within 1e-6). Everything longer, or near a pole,
goes to geographiclib, which is exact (Karney 2013, J. Geodesy 87, 43-55) and some 70 times slower.
"""

from __future__ import annotations

import math

import numpy as np
from geographiclib.geodesic import Geodesic
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SHORT_STEP_M = 1_000.0
_POLAR_LAT_DEG = 80.0
_A_M = Geodesic.WGS84.a
_E2 = Geodesic.WGS84.f * (2.0 - Geodesic.WGS84.f)


def wrapped_deg(difference_deg: Floats) -> Floats:
    """Return longitude differences brought into [-180, 180): the short way round, also over the date line."""
    return np.asarray((difference_deg + 180.0) % 360.0 - 180.0)


def steps_m(lat_deg: Floats, lon_deg: Floats) -> tuple[Floats, Floats]:
    """Return the steps between n successive points as (east, north) in metres, each of shape (n-1,).

    Each step's length `hypot(east, north)` is the geodesic distance, within 1e-6 of it for short steps.
    """
    middle = np.radians((lat_deg[:-1] + lat_deg[1:]) / 2.0)
    shrink = 1.0 - _E2 * np.sin(middle) ** 2
    north = np.radians(np.diff(lat_deg)) * (_A_M * (1.0 - _E2) / (shrink * np.sqrt(shrink)))
    east = np.radians(wrapped_deg(np.diff(lon_deg))) * (_A_M / np.sqrt(shrink) * np.cos(middle))
    polar = np.maximum(np.abs(lat_deg[:-1]), np.abs(lat_deg[1:])) > _POLAR_LAT_DEG
    for index in np.flatnonzero((np.hypot(east, north) > SHORT_STEP_M) | polar).tolist():
        line = Geodesic.WGS84.Inverse(
            float(lat_deg[index]), float(lon_deg[index]), float(lat_deg[index + 1]), float(lon_deg[index + 1])
        )
        azimuth = math.radians(line["azi1"])
        east[index] = line["s12"] * math.sin(azimuth)
        north[index] = line["s12"] * math.cos(azimuth)
    return east, north


def step_lengths_m(lat_deg: Floats, lon_deg: Floats) -> Floats:
    """Return the geodesic lengths in metres of the n-1 steps between n points given in degrees."""
    return np.asarray(np.hypot(*steps_m(lat_deg, lon_deg)))


def from_place_m(lat_deg: Floats, lon_deg: Floats, place_lat_deg: float, place_lon_deg: float) -> Floats:
    """Return roughly how far each of n points is from one place, shape (n,): within 0.1 % up to 5 km, and large beyond.

    The ellipsoid's metric at the place itself, for finding what is near among very many points.
    """
    at = math.radians(place_lat_deg)
    shrink = 1.0 - _E2 * math.sin(at) ** 2
    north = np.radians(lat_deg - place_lat_deg) * (_A_M * (1.0 - _E2) / shrink**1.5)
    east = np.radians(wrapped_deg(lon_deg - place_lon_deg)) * (_A_M / math.sqrt(shrink) * math.cos(at))
    return np.asarray(np.hypot(east, north))
