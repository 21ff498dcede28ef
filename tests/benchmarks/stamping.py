"""How right the moments of captured sound are: known sound, played into a microphone of a real sound server.

What is played goes in by pieces of 10 ms, each when its last sample is due, so 0 to 10 ms of what is measured is the test's
own. Run it on an idle machine; it takes as long as it plays: `python tests/benchmarks/stamping.py --seconds 60`.
"""

from __future__ import annotations

import argparse
import os
import time

import numpy as np
from sound_server import Feed, SoundServer
from stamps import known_sound, late_ms

from logger.model import CapturedBlock


def measure(seconds: float, rate_hz: int) -> None:
    """Print one line of the table."""
    known = known_sound(seconds + 3)
    with SoundServer() as server:
        os.environ.update(server.environment)
        from logger.sound.microphone import Microphone

        blocks: list[CapturedBlock] = []
        with Feed(server, known) as feed, Microphone(rates_hz=(rate_hz,)) as microphone:
            until_s = time.monotonic() + seconds
            while time.monotonic() < until_s:
                block = microphone.read(0.5)
                if block is not None:
                    blocks.append(block)
            lost, began_ns = microphone.lost_samples, feed.began_ns
    late = late_ms(known, blocks, began_ns, pieces=200)
    print(
        f"| {rate_hz} Hz | {len(late)} | {late.mean():.1f} | {late.std(ddof=1):.1f} | {np.abs(late).max():.1f} | {lost} |"
    )


def main() -> None:
    """Measure at the rate that is wanted and at one that has to be resampled."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    seconds = parser.parse_args().seconds
    print("| microphone at | pieces | mean late, ms | standard deviation, ms | worst, ms | samples lost |")
    print("|---|---|---|---|---|---|")
    for rate_hz in (16_000, 48_000):
        measure(seconds, rate_hz)


if __name__ == "__main__":
    main()
