"""`python -m cabin_model [CALLS]`: make the adapted model anew."""

from __future__ import annotations

import random
import sys
import tempfile
from collections import defaultdict
from pathlib import Path

import numpy as np
from speechkit import calls, noise
from speechkit.levels import to_samples
from speechkit.speaking import say
from speechkit.voices import TRAINING, Engine, Voice

from cabin_model.adapting import Adaptation, Seen
from cabin_model.hearing import HMM, Aligner, Features
from cabin_model.model_files import (
    phone_names,
    read_gaussians,
    read_variances,
    read_weights,
    write_gaussians,
    write_weights,
)
from logger.model import RATE_HZ, Samples

CALLS = 720
SEED = 2026
RATIOS_DB = (None, 22, 16, 11, 7, 3)
"""Each call is heard in quiet and at these ratios of speech over noise in 300-3400 Hz."""
HUMAN_SHARE = 0.75
"""How often a voice made from a person's recordings speaks; formant synthesis has no such detail."""
TEMPOS = (0.85, 0.92, 1.0, 1.0, 1.08, 1.17)
"""Played faster or slower, pitch and tract included: one recorded speaker stands for several."""
AT_ONCE = 20
DATA = Path(__file__).resolve().parents[3] / "logger" / "recognisers" / "data"


def main(count: int) -> None:
    """Adapt with `count` calls and write the three files."""
    import soxr

    rng = random.Random(SEED)
    human = [voice for voice in TRAINING if voice.engine is not Engine.ESPEAK]
    others = [voice for voice in TRAINING if voice.engine is Engine.ESPEAK]
    means, variances = read_gaussians(HMM / "means"), read_variances(HMM / "variances")
    head, weights = read_weights(HMM / "sendump")
    adaptation = Adaptation(means, variances, weights)
    phones = {name: index for index, name in enumerate(phone_names(HMM / "mdef"))}
    aligner = Aligner()
    gathered: dict[int, list[Seen]] = defaultdict(list)
    unfit = 0
    with tempfile.TemporaryDirectory() as folder:
        features = Features(Path(folder))
        spoken = calls.calls(count, SEED, command_share=0.08) + calls.calls(count // 4, SEED, "metric")
        for index, call in enumerate(spoken):
            voice: Voice = rng.choice(human if rng.random() < HUMAN_SHARE else others)
            tempo = rng.choice(TEMPOS)
            sound = say(voice, call.script)
            speech: Samples = to_samples(soxr.resample(sound.astype(np.float64), RATE_HZ * tempo, RATE_HZ))
            stays = aligner.align(noise.in_cabin(speech, None, index, around_s=0.3), call.text)
            unfit += not stays
            for ratio_db in RATIOS_DB if stays else ():
                heard = features.of(noise.in_cabin(speech, ratio_db, SEED + index, around_s=0.3))
                for stay in stays:
                    frames = heard[stay.first_frame : stay.first_frame + stay.frames]
                    senones = np.full(len(frames), stay.senone)
                    gathered[phones[stay.phone]].append(Seen(frames, senones))
            if index % AT_ONCE == AT_ONCE - 1 or index + 1 == len(spoken):
                _count(adaptation, gathered)
                print(f"{index + 1} of {len(spoken)} calls, {unfit} unfit", file=sys.stderr, flush=True)
    means, variances, weights = adaptation.adapted()
    DATA.mkdir(exist_ok=True)
    write_gaussians(DATA / "cabin.means", means)
    write_gaussians(DATA / "cabin.variances", variances)
    write_weights(DATA / "cabin.sendump", head, weights)


def _count(adaptation: Adaptation, gathered: dict[int, list[Seen]]) -> None:
    for phone, pieces in gathered.items():
        features = np.concatenate([piece.features for piece in pieces])
        adaptation.see(phone, Seen(features, np.concatenate([piece.senones for piece in pieces])))
    gathered.clear()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else CALLS)
