"""Whether it is time to turn round, or to end with this lap; and telling it once, unasked. Pure.

It errs on the safe side: what counts is the least that the charge is good for, as the display is rounded, less the
reserve. More charge never makes the advice more urgent, and more reserve never less (`urgency`).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from logger.core.charge_left import Left
from logger.core.way import Way
from logger.core.way_back import Standing

AGAIN_M = 5000.0
"""Advice that has become void by so much, by a corrected charge or by charging, is given again when its time comes."""


class Turn(StrEnum):
    """What the figures say."""

    GO_ON = "go_on"
    """Out further, or one more whole lap and maybe more."""
    TO_THE_START = "to_the_start"
    """On the way back, with enough for it and the reserve."""
    LAST_LAP = "last_lap"
    """Enough for the rest of this lap and the reserve, not for a further one."""
    INTO_RESERVE = "into_reserve"
    """The way to the start, the shortest there is, takes of the reserve."""
    TURN_ROUND = "turn_round"
    """Going on no longer leads back to the start with the reserve; turning round does, or is the shortest there is."""
    OUT_OF_REACH = "out_of_reach"
    """The charge may not last to the start."""


_URGENCY = {
    Turn.GO_ON: 0, Turn.TO_THE_START: 0, Turn.LAST_LAP: 1, Turn.INTO_RESERVE: 1, Turn.TURN_ROUND: 2, Turn.OUT_OF_REACH: 3,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Advice:
    """What the figures say, and by how much.

    Attributes:
        turn: what they say.
        room_m: with `GO_ON`, how far the car may go on before they say something else; on a loop, what is over when one
            more lap was driven.
        laps: with `GO_ON` on a loop, how many whole laps fit after this one.
        reserve_m: the reserve as a distance.
    """

    turn: Turn
    room_m: float
    laps: int
    reserve_m: float

    @property
    def urgency(self) -> int:
        """How urgent it is: 0 for none, 3 at the most."""
        return _URGENCY[self.turn]


def advice_on(left: Left, here: Standing, way: Way) -> Advice:
    """Return what the figures say of turning round."""
    reserve_m = way.reserve_m + way.reserve_points * left.least_m_a_point
    spare_m = left.least_m - reserve_m

    def say(turn: Turn, room_m: float = 0.0, laps: int = 0) -> Advice:
        return Advice(turn, room_m, laps, reserve_m)

    if here.on_m is None:
        if spare_m > here.back_m:
            return say(Turn.GO_ON, (spare_m - here.back_m) / 2.0)  # each metre out is one more back as well
        return say(Turn.TURN_ROUND if left.least_m >= here.back_m else Turn.OUT_OF_REACH)
    beyond_m = spare_m - here.on_m
    if beyond_m >= 0.0:
        if here.retracing:
            return say(Turn.TO_THE_START)
        laps = int(beyond_m // here.lap_m)
        return say(Turn.GO_ON, beyond_m - here.lap_m, laps) if laps else say(Turn.LAST_LAP)
    if here.back_m < here.on_m:
        return say(Turn.TURN_ROUND if left.least_m >= here.back_m else Turn.OUT_OF_REACH)
    return say(Turn.INTO_RESERVE if left.least_m >= here.on_m else Turn.OUT_OF_REACH)


class Watch:
    """Decides when advice is to be told unasked: each urgency once, until it has clearly become void."""

    def __init__(self) -> None:
        self._told = self._before = 0

    def look(self, advice: Advice | None) -> bool:
        """Take what the figures say now, None where they say nothing; return whether that is to be told.

        It has to be as urgent twice in a row: a receiver may leap for a moment.
        """
        if advice is None:
            self._before = 0
            return False
        if advice.turn is Turn.GO_ON and advice.room_m >= AGAIN_M:
            self._told = 0
        before, self._before = self._before, advice.urgency
        if not self._told < advice.urgency <= before:
            return False
        self._told = advice.urgency
        return True

    def told(self, advice: Advice) -> None:
        """Take that advice was told because somebody asked."""
        self._told = max(self._told, advice.urgency)
