"""Where the car of a rehearsed drive was: from fixes of a noisy receiver through the real `Track`, or lightly.

The light form is the true distance, stretched by up to 0.05 % as a slow walk: for composing drives by the thousand.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from geographiclib.geodesic import Geodesic

from logger.core.track import Track
from logger.model import Fix, Place
from rehearsed.car import Floats, Outing, outing_of
from rehearsed.departures import Departure, departure_of
from rehearsed.records import RehearsedDrive
from rehearsed.twists import NO_TWIST, Twist, twist_of

PlaceAt = Callable[[int], Place | None]

NANO = 1_000_000_000
_DIRECT = Geodesic.LATITUDE | Geodesic.LONGITUDE
_CHORDS = 720
_WANDER_M, _WANDER_S, _WHITE_M, _SPEED_MPS = 2.0, 60.0, 0.4, 0.1
_MOST_STRETCH = 0.0005
_KNOT_S = 900.0
_METRES_A_DEGREE = 111_200.0


def began_utc_ns(drive: RehearsedDrive) -> int:
    """Return the drive clock's 0."""
    return departure_of(drive.seed).began_utc_ns


def track_of(drive: RehearsedDrive) -> PlaceAt:
    """Return where the car was: of an ordinary drive as a receiver says it, of one with an exception lightly."""
    if drive.exception == "":
        return real_track(drive.seed).at
    if drive.exception == "no gps":
        return lambda _utc_ns: None
    outing = outing_of(drive.seed)
    return light_track(outing, twist_of(drive.exception, drive.seed, outing))


def real_track(seed: int) -> Track:
    """Return the track of a seed's ordinary drive, from its fixes."""
    track, _ = Track.from_fixes(fixes(seed))
    return track


def fixes(seed: int) -> list[Fix]:
    """Return a fix a second, with what a receiver adds: a wander, white noise and noise of the speed."""
    outing = outing_of(seed)
    seconds = np.arange(0.0, math.floor(outing.ends_s) + 1.0)
    driven = np.interp(seconds, outing.seconds, outing.distance_m)
    speed = np.interp(seconds, outing.seconds, outing.speed_mps)
    return fixes_along(seed, outing.conditions.lap_m, seconds, driven, speed)


def fixes_along(
    seed: int,
    lap_m: float,
    seconds: Floats,
    driven: Floats,
    speed: Floats,
    *,
    altitude_m: Floats | None = None,
    chords: int = _CHORDS,
) -> list[Fix]:
    """Return the fixes of a drive round the circle of a seed, with the same noise; the altitudes are reported as they are given.

    Args:
        seed: of place and noise.
        lap_m: the length of the circle.
        seconds: when there is a fix, whole seconds of the drive clock; shape (n,).
        driven: metres at each.
        speed: metres a second at each.
        altitude_m: at each; None for a receiver that gives none.
        chords: how many straight lines the circle is made of.
    """
    departure = departure_of(seed)
    circle = _circle(departure, lap_m, chords)
    rng = np.random.default_rng((seed, 71))
    along = np.mod(driven, lap_m)
    north, east = _noise_m(rng, len(seconds)), _noise_m(rng, len(seconds))
    lat_deg = np.interp(along, circle.along_m, circle.lat_deg) + north / _METRES_A_DEGREE
    shrunk = np.cos(np.radians(lat_deg))
    lon_deg = np.interp(along, circle.along_m, circle.lon_deg) + east / (_METRES_A_DEGREE * shrunk)
    reported = np.abs(speed + rng.normal(0.0, _SPEED_MPS, len(seconds)))
    heights: list[float | None] = [None] * len(seconds) if altitude_m is None else altitude_m.tolist()
    return [
        Fix(departure.began_utc_ns + round(second) * NANO, lat, lon, altitude_m=height, speed_mps=mps)
        for second, lat, lon, height, mps in zip(
            seconds.tolist(), lat_deg.tolist(), lon_deg.tolist(), heights, reported.tolist(), strict=True
        )
    ]


def light_track(outing: Outing, twist: Twist = NO_TWIST) -> PlaceAt:
    """Return where the car was without a receiver's fixes; None where the twist loses GPS, and outside the drive."""
    departure = departure_of(outing.seed)
    rng = np.random.default_rng((outing.seed, 72))
    knots = np.arange(0.0, outing.ends_s + 2 * _KNOT_S, _KNOT_S)
    stretches = np.clip(rng.normal(0.0, _MOST_STRETCH / 2.0, len(knots)), -_MOST_STRETCH, _MOST_STRETCH)
    speed = outing.speed_mps * (1.0 + np.interp(outing.seconds, knots, stretches))
    step_s = float(outing.seconds[1])
    measured = np.concatenate(([0.0], np.cumsum((speed[1:] + speed[:-1]) / 2.0))) * step_s
    radius_m = outing.conditions.lap_m / (2.0 * math.pi)
    lon_scale = _METRES_A_DEGREE * math.cos(math.radians(departure.lat_deg))

    def at(utc_ns: int) -> Place | None:
        at_s = (utc_ns - departure.began_utc_ns) / NANO
        if twist.lost(at_s) or not 0.0 <= at_s <= twist.clock_s(outing.ends_s):
            return None
        driving_s = twist.driving_s(at_s)
        angle = outing.at(outing.distance_m, driving_s) / radius_m
        standing = twist.pause is not None and twist.pause.from_s < at_s < twist.pause.ends_s
        return Place(
            lat_deg=departure.lat_deg + radius_m * math.cos(angle) / _METRES_A_DEGREE,
            lon_deg=departure.lon_deg + radius_m * math.sin(angle) / lon_scale,
            distance_m=outing.at(measured, driving_s),
            speed_mps=0.0 if standing else outing.at(outing.speed_mps, driving_s),
            gap_s=1.0,
        )

    return at


@dataclass(frozen=True, slots=True, eq=False)
class _Circle:
    """A lap as chords on the ellipsoid; shapes (n,). `along_m` is scaled so that a lap is as long as it must be."""

    along_m: Floats
    lat_deg: Floats
    lon_deg: Floats


def _circle(departure: Departure, lap_m: float, chords: int) -> _Circle:
    radius_m = lap_m / (2.0 * math.pi)
    for _ in range(2):
        spots = [
            Geodesic.WGS84.Direct(departure.lat_deg, departure.lon_deg, 360.0 * k / chords, radius_m, _DIRECT)
            for k in range(chords + 1)
        ]
        lengths = [
            Geodesic.WGS84.Inverse(one["lat2"], one["lon2"], two["lat2"], two["lon2"], Geodesic.DISTANCE)[
                "s12"
            ]
            for one, two in itertools.pairwise(spots)
        ]
        length_m = float(sum(lengths))
        radius_m *= lap_m / length_m
    return _Circle(
        along_m=np.concatenate(([0.0], np.cumsum(lengths))) * (lap_m / length_m),
        lat_deg=np.array([spot["lat2"] for spot in spots]),
        lon_deg=np.array([spot["lon2"] for spot in spots]),
    )


def _noise_m(rng: np.random.Generator, count: int) -> Floats:
    """Return one axis' noise: a first-order Gauss-Markov wander, and white noise."""
    keep = math.exp(-1.0 / _WANDER_S)
    pushes = rng.normal(0.0, _WANDER_M * math.sqrt(1.0 - keep * keep), count)
    wander = np.empty(count)
    value = rng.normal(0.0, _WANDER_M)
    for k, push in enumerate(pushes.tolist()):
        value = keep * value + push
        wander[k] = value
    return wander + rng.normal(0.0, _WHITE_M, count)
