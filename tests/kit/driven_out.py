"""Rehearsed drives until past 0 % shown, with every call understood: what results start from, and the truth that they are to find.

No sound and no recogniser: what is read off is what the dash showed. The receiver's speeds are noisy and a little off for a while,
as in `rehearsed.tracks`; the track is put together of them at once, as `Track` does where it trusts them.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np
from rehearsed.caller import LOOK_S, planned
from rehearsed.car import Floats, Outing, outing_of
from rehearsed.dash import Dash, dash_kind
from rehearsed.departures import departure_of
from rehearsed.twists import NO_TWIST, Gain, Twist, twist_of

from logger.core.results.observed import Observed, observed
from logger.core.track import Track
from logger.core.way import Way
from logger.model import Drive, Entry, Origin, Status

NANO = 1_000_000_000
PAST_ZERO = 0.03
"""How far past 0 % they are driven, as a share of the battery."""
TUNING = (*range(20_000, 20_400), *range(40_000, 40_600))
"""Seeds that constants are chosen on. The latter were to be reported, and were looked at before constants were final."""
REPORT = range(140_000, 140_600)
"""Seeds that figures are reported of; never those that constants are chosen on. Of earlier models those from 60,000, 80,000 and 120,000 were."""
DESCENT = "charge up on a descent"
TWISTS = ("", "", "", "trip reset noted", "trip reset not noted", DESCENT)
"""What happens by seed."""

_SPEED_MPS = 0.1
_MOST_STRETCH = 0.0005
_KNOT_S = 900.0
_METRES_A_DEGREE = 111_200.0
_NOTICED_S = (2.0, 40.0)
_CLIMB_S = 900.0
"""How long the climb takes before a descent that raises the charge."""


@dataclass(frozen=True, slots=True)
class Truth:
    """What a drive truly was; distances from its beginning, "shown" as the dash rounds.

    Attributes:
        zero_km: where 0 % was first shown.
        zero_trip_km: what the trip meter, never reset, had then counted.
        trip_factor: what it counts for a true kilometre.
        wh_per_km: energy from the battery until then, over the distance.
        eighty_to_ten_km: from where 80 % was first shown to where 10 % was.
    """

    zero_km: float
    zero_trip_km: float
    trip_factor: float
    wh_per_km: float
    eighty_to_ten_km: float


@dataclass(frozen=True, slots=True, eq=False)
class DrivenOut:
    """A drive as it was observed, and what it truly was."""

    seen: Observed
    truth: Truth


def goes_over_a_pass(seed: int) -> bool:
    """Whether the drive of a seed does."""
    return TWISTS[seed % len(TWISTS)] == DESCENT


def driven_out(seed: int, *, past_zero: float = PAST_ZERO) -> DrivenOut:
    """Return the drive of a seed."""
    outing = outing_of(seed, past_zero)
    twist = _twist(seed, outing)
    if twist.gain is not None:
        outing, twist = over_a_pass(outing, twist.gain), NO_TWIST
    system = "miles" if seed % 2 else "metric"
    drive = Drive(departure_of(seed).began_utc_ns, "")
    test: dict[str, str | int | float | bool] = {"usable_kwh": outing.car.usable_kwh}
    seen = observed(
        drive,
        entries(seed, outing, twist),
        track(outing),
        test=test,
        way=Way(outing.conditions.lap_m, 10.0),
        distances="mi" if system == "miles" else "km",
    )
    return DrivenOut(seen, truth(outing))


def _twist(seed: int, outing: Outing) -> Twist:
    exception = TWISTS[seed % len(TWISTS)]
    return twist_of(exception, seed, outing) if exception else NO_TWIST


def over_a_pass(outing: Outing, gain: Gain) -> Outing:
    """Return a drive in which a climb takes what a descent then gives back: in `rehearsed.twists` it is a gift of energy."""
    climbed = (outing.seconds - gain.from_s) / _CLIMB_S + 1.0
    descended = (outing.seconds - gain.from_s) / gain.lasts_s
    stored = gain.share * (np.clip(climbed, 0.0, 1.0) - np.clip(descended, 0.0, 1.0))
    return replace(
        outing, charge=outing.charge - stored, used_kwh=outing.used_kwh + stored * outing.car.usable_kwh
    )


def truth(outing: Outing) -> Truth:
    """Return what a drive truly was."""
    kind = dash_kind(outing.seed)
    zero_m = _first_shown_m(outing, 0)
    used_kwh = float(np.interp(zero_m, outing.distance_m, outing.used_kwh))
    return Truth(
        zero_km=zero_m / 1000.0,
        zero_trip_km=zero_m * kind.trip_scale / 1000.0,
        trip_factor=kind.trip_scale,
        wh_per_km=used_kwh * 1e6 / zero_m,
        eighty_to_ten_km=(_first_shown_m(outing, 10) - _first_shown_m(outing, 80)) / 1000.0,
    )


def _first_shown_m(outing: Outing, percent: int) -> float:
    """Return how far the car had driven when the dash first showed a percent or less."""
    edge = (percent + (0.5 if dash_kind(outing.seed).rounds_charge else 1.0)) / 100.0
    charge = outing.charge
    after = int(np.argmax(charge < edge))
    before = after - 1
    share = float((charge[before] - edge) / (charge[before] - charge[after]))
    return float(outing.distance_m[before] + share * (outing.distance_m[after] - outing.distance_m[before]))


def entries(seed: int, outing: Outing, twist: Twist = NO_TWIST) -> list[Entry]:
    """Return what was called out, all understood; a charge of 0 when it is noticed."""
    system = "miles" if seed % 2 else "metric"
    made = []
    for number, call in enumerate(planned(seed, system, outing, twist), start=1):
        for place, said in enumerate(call.spoken.truth, start=1):
            entry = Entry(
                f"{number}-{place}", number, round(call.at_s * NANO), said.quantity, Decimal(said.value), said.unit, Status.ACCEPTED, 1.0,
                Origin.HEARD, "", "", "",
            )  # fmt: skip
            made.append(entry)
    if twist.reset_s is not None and TWISTS[seed % len(TWISTS)] == "trip reset noted":
        made.append(_note(round((twist.reset_s + 3.0) * NANO), "trip reset"))
    if not any(each.quantity == "charge" and each.value == 0 for each in made):
        at_s = _zero_s(outing) + random.Random(f"zero {seed}").uniform(*_NOTICED_S)
        shown = Dash(outing, system, twist).shows("charge", at_s - LOOK_S)
        assert shown is not None
        made.append(
            Entry(
                "900-1",
                900,
                round(at_s * NANO),
                "charge",
                shown.value,
                "%",
                Status.ACCEPTED,
                1.0,
                Origin.HEARD,
                "",
                "",
                "",
            )
        )
    return sorted(made, key=lambda each: each.at_ns)


def _zero_s(outing: Outing) -> float:
    return outing.when_driven(_first_shown_m(outing, 0)) + LOOK_S


def _note(at_ns: int, text: str) -> Entry:
    return Entry("800-1", 800, at_ns, "note", None, "", Status.ACCEPTED, 1.0, Origin.HEARD, "", text, "")


def track(outing: Outing) -> Track:
    """Return the drive's track: a fix a second, the receiver's speeds noisy and off by up to 0.05 % for a while."""
    departure = departure_of(outing.seed)
    rng = np.random.default_rng((outing.seed, 73))
    seconds = np.arange(0.0, math.floor(outing.ends_s) + 1.0)
    knots = np.arange(0.0, outing.ends_s + 2 * _KNOT_S, _KNOT_S)
    off = np.clip(rng.normal(0.0, _MOST_STRETCH / 2.0, len(knots)), -_MOST_STRETCH, _MOST_STRETCH)
    driven = np.interp(seconds, outing.seconds, outing.distance_m)
    true_mps = np.interp(seconds, outing.seconds, outing.speed_mps)
    speed = np.abs(
        true_mps * (1.0 + np.interp(seconds, knots, off)) + rng.normal(0.0, _SPEED_MPS, len(seconds))
    )
    speed[true_mps == 0.0] = 0.0
    measured = np.concatenate(([0.0], np.cumsum((speed[1:] + speed[:-1]) / 2.0)))
    radius_m = outing.conditions.lap_m / (2.0 * math.pi)
    angle = driven / radius_m
    lon_scale = _METRES_A_DEGREE * math.cos(math.radians(departure.lat_deg))
    return Track(
        utc_ns=departure.began_utc_ns + seconds.astype(np.int64) * NANO,
        lat_deg=_kept(departure.lat_deg + radius_m * np.cos(angle) / _METRES_A_DEGREE),
        lon_deg=_kept(departure.lon_deg + radius_m * np.sin(angle) / lon_scale),
        altitude_m=_kept(np.full(len(seconds), np.nan)),
        speed_mps=_kept(speed),
        distance_m=_kept(measured),
    )


def _kept(column: Floats) -> Floats:
    column.setflags(write=False)
    return column


def without(seen: Observed, *quantities: str) -> Observed:
    """Return a drive as if some quantities had never been read off."""
    return replace(
        seen, readings={name: read for name, read in seen.readings.items() if name not in quantities}
    )
