"""Sound to cepstra, the same ones that Kaldi inside Vosk computes from conf/mfcc.conf."""

from __future__ import annotations

import kaldi_native_fbank as knf  # type: ignore[import-untyped]
import numpy as np
from numpy.typing import NDArray

CEPSTRA = 16
"""Few, since the higher ones tell voices apart rather than sounds."""
FRAMES_PER_S = 100
MFCC_CONF = f"""\
--sample-frequency=16000
--use-energy=false
--num-mel-bins=40
--num-ceps={CEPSTRA}
--low-freq=20
--high-freq=7600
--dither=0.0
--allow-upsample=true
--allow-downsample=true
"""
"""What goes into the model folder; `cepstra` sets the same values."""


def cepstra(samples: NDArray[np.int16]) -> NDArray[np.float32]:
    """Return features of shape (frames, CEPSTRA), one frame each 10 ms over a 25 ms window."""
    options = knf.MfccOptions()
    options.frame_opts.samp_freq = 16_000
    options.frame_opts.dither = 0.0
    options.use_energy = False
    options.num_ceps = CEPSTRA
    options.mel_opts.num_bins = 40
    options.mel_opts.low_freq = 20
    options.mel_opts.high_freq = 7600
    computer = knf.OnlineMfcc(options)
    computer.accept_waveform(16_000, samples.astype(np.float32).tolist())
    computer.input_finished()
    frames = [computer.get_frame(n) for n in range(computer.num_frames_ready)]
    return np.array(frames, dtype=np.float32).reshape(-1, CEPSTRA)
