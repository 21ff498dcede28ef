"""Under which noise, at which ratio, a trial is heard."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

import numpy as np
from speechkit import RATE_HZ, Samples, noise
from speechkit.levels import Measure

from evaluation.noises import KINDS, noise_of

CABIN = "cabin"
RATIOS_DB = (20, 10, 5, 0, -5)
KIND_RATIO_DB, KIND_MEASURE = 5.0, Measure.A_WEIGHTED
"""Of the kinds of noise one by one: as loud to the ear beside the speech, whichever it is."""
_AROUND_S = 0.5
_SEEDS = {False: 910_000_000, True: 510_000_000}
"""What the noises of reports and of tuning are drawn from; the training's come from `call_model.training.SEED`."""


@dataclass(frozen=True, slots=True)
class Condition:
    """One kind of noise (none: clean) at one ratio of speech to it, by a measure."""

    noise: str = ""
    ratio_db: float | None = None
    measure: Measure = Measure.BROADBAND

    @property
    def name(self) -> str:
        """What tables call it."""
        if self.ratio_db is None:
            return "clean"
        ratio = f"{self.ratio_db:g} dB {'' if self.measure is not Measure.BAND else 'in '}{self.measure}"
        return ratio if self.noise == CABIN else f"{self.noise}, {ratio}"

    def heard(self, speech: Samples, what: str, speaker: str, *, tune: bool = False) -> Samples:
        """Return speech as a microphone gives it under this condition.

        `what` names the trial: its noise follows from it, and is the same at every ratio.
        """
        seed = _SEEDS[tune] + zlib.crc32(what.encode()) % 10_000_000
        if self.noise in ("", CABIN):
            return noise.in_cabin(speech, self.ratio_db, seed, measure=self.measure, around_s=_AROUND_S)
        assert self.ratio_db is not None
        edge = np.zeros(round(_AROUND_S * RATE_HZ), dtype=np.int16)
        padded = np.concatenate((edge, speech, edge))
        sound = noise_of(self.noise, len(padded), seed, speaker, tune=tune)
        return noise.mix(padded, sound, self.ratio_db, self.measure).samples


CLEAN = Condition()
RATIOS = (
    CLEAN,
    *(
        Condition(CABIN, ratio_db, measure)
        for measure in (Measure.BROADBAND, Measure.BAND)
        for ratio_db in RATIOS_DB
    ),
)
"""Clean, and cabin noise at each ratio by both measures."""
BY_KIND = tuple(Condition(kind, KIND_RATIO_DB, KIND_MEASURE) for kind in KINDS)
EVERY = (*RATIOS, *BY_KIND)
