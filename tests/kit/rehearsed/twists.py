"""What may happen in a drive besides driving: pauses, charging, resets, other units. Times are on the drive clock."""

from __future__ import annotations

import random
from dataclasses import dataclass

from rehearsed.car import Outing

_DESCENT_S = 200.0


@dataclass(frozen=True, slots=True)
class Pause:
    """The car stands still from `from_s` for `lasts_s`; its clock runs on."""

    from_s: float
    lasts_s: float
    warmer_k: float = 0.0
    """How much warmer it is outside afterwards."""

    @property
    def ends_s(self) -> float:
        """When it goes on."""
        return self.from_s + self.lasts_s


@dataclass(frozen=True, slots=True)
class Gain:
    """Charge added (or lost) evenly from `from_s` for `lasts_s`, as a share of a full battery."""

    from_s: float
    lasts_s: float
    share: float


@dataclass(frozen=True, slots=True)
class Twist:
    """What happens in one drive.

    Attributes:
        reset_s, reset_m: when the trip is reset, and what was truly driven by then.
        lost_s: from when until when there is no GPS.
        switch_s: from when the dash shows the other units.
    """

    pause: Pause | None = None
    gain: Gain | None = None
    reset_s: float | None = None
    reset_m: float = 0.0
    lost_s: tuple[float, float] | None = None
    switch_s: float | None = None

    @property
    def event_s(self) -> float | None:
        """When it happens."""
        if self.pause is not None:
            return self.pause.from_s
        if self.gain is not None:
            return self.gain.from_s
        if self.lost_s is not None:
            return self.lost_s[0]
        return self.switch_s if self.reset_s is None else self.reset_s

    @property
    def over_s(self) -> float | None:
        """When it has happened."""
        if self.pause is not None:
            return self.pause.ends_s
        return self.event_s if self.gain is None else self.gain.from_s + self.gain.lasts_s

    def driving_s(self, at_s: float) -> float:
        """Return the time the car would have got as far without the pause."""
        if self.pause is None or at_s <= self.pause.from_s:
            return at_s
        return max(self.pause.from_s, at_s - self.pause.lasts_s)

    def clock_s(self, driving_s: float) -> float:
        """Return when on the drive clock the car has got as far; at a pause, when it begins."""
        if self.pause is None or driving_s <= self.pause.from_s:
            return driving_s
        return driving_s + self.pause.lasts_s

    def added_charge(self, at_s: float) -> float:
        """Return the share of a full battery that was added by then."""
        if self.gain is None:
            return 0.0
        done = (at_s - self.gain.from_s) / self.gain.lasts_s
        return self.gain.share * min(1.0, max(0.0, done))

    def trip_from_m(self, at_s: float) -> float:
        """Return what had truly been driven when the trip was last reset."""
        return self.reset_m if self.reset_s is not None and at_s >= self.reset_s else 0.0

    def warmer_k(self, at_s: float) -> float:
        """Return how much warmer it is than in a drive without the pause."""
        return self.pause.warmer_k if self.pause is not None and at_s >= self.pause.ends_s else 0.0

    def lost(self, at_s: float) -> bool:
        """Whether there is no GPS."""
        return self.lost_s is not None and self.lost_s[0] <= at_s < self.lost_s[1]

    def switched(self, at_s: float) -> bool:
        """Whether the dash shows the other units."""
        return self.switch_s is not None and at_s >= self.switch_s


NO_TWIST = Twist()


def twist_of(exception: str, seed: int, outing: Outing) -> Twist:
    """Return what happens in the drive of a seed with an exception; nothing where the exception is one of speech."""
    rng = random.Random(f"rehearsed twist {exception} {seed}")
    at_s = rng.uniform(0.3, 0.65) * outing.ends_s
    charge = outing.at(outing.charge, at_s)
    match exception:
        case "charging noted" | "charging not noted":
            lasts_s = rng.uniform(900.0, 2400.0)
            share = min(rng.uniform(0.12, 0.45), 0.97 - charge)
            return Twist(pause=Pause(at_s, lasts_s), gain=Gain(at_s + 60.0, lasts_s - 120.0, share))
        case "trip reset noted" | "trip reset not noted":
            return Twist(reset_s=at_s, reset_m=outing.at(outing.distance_m, at_s))
        case "charge up on a descent":
            # Less what falls between the event and the calls on either side, so that 1 or 2 more is shown.
            fell = charge - outing.at(outing.charge, at_s + _DESCENT_S)
            return Twist(gain=Gain(at_s, _DESCENT_S, fell + rng.uniform(0.0165, 0.019)))
        case "gps lost":
            return Twist(lost_s=(at_s, at_s + 600.0))
        case "paused overnight":
            lasts_s = rng.uniform(8.0, 10.0) * 3600.0
            warmer_k = rng.choice((-1.0, 1.0)) * rng.uniform(3.0, 9.0)
            return Twist(
                pause=Pause(at_s, lasts_s, warmer_k), gain=Gain(at_s, lasts_s, -rng.uniform(0.006, 0.02))
            )
        case "units switched":
            return Twist(switch_s=at_s)
    return NO_TWIST
