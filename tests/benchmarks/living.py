"""How quick, how frugal and how right in time a live drive is: calls played into a virtual microphone, in real time.

The tables of docs/live.md: delay of the read-back from the end of speech, share of one core, memory, and how far the moments of
notes (whose first word is known) are from when they were played. `--minutes` makes it a soak; run it on an idle machine.

    python tests/benchmarks/living.py --minutes 5
    python tests/benchmarks/living.py --minutes 5 --ratio 10
    python tests/benchmarks/living.py --minutes 120 --recogniser pocketsphinx
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
from collections.abc import Sequence
from pathlib import Path

from soaking import Soaked, soak


def main() -> None:
    """Record and print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--minutes", type=float, default=2.0)
    parser.add_argument("--ratio", type=float, help="dB of speech over cabin noise, broadband")
    parser.add_argument("--recogniser", default="auto")
    parser.add_argument("--readback", default="tone")
    given = parser.parse_args()
    options = ("--recogniser", given.recogniser, "--readback", given.readback)
    with tempfile.TemporaryDirectory(prefix="odovox-live-") as place:
        report(soak(Path(place) / "drive", given.minutes, *options, ratio_db=given.ratio))


def report(soaked: Soaked) -> None:
    """Print what came of it."""
    sure = [delay_s for delay_s, is_sure in soaked.delays_s if is_sure]
    doubtful = [delay_s for delay_s, is_sure in soaked.delays_s if not is_sure]
    (answers, beside), late_ms = soaked.answers, soaked.late_ms
    rows = [
        ("calls said, answered", f"{len(soaked.calls)}, {len(soaked.delays_s)}"),
        ("answers told in all; to stretches of other talk", f"{answers}; {beside} to {soaked.talks}"),
        (_delay("all calls"), _spread(sure + doubtful)),
        (_delay(f"{len(sure)} without a doubt"), _spread(sure)),
        (_delay(f"{len(doubtful)} with a doubt"), _spread(doubtful)),
        ("share of one core", f"{soaked.core_share:.0%}"),
        (
            "memory at the end; slope over the second half",
            f"{soaked.looks[-1][2]:.0f} MB; {soaked.slope_mb_minute:+.2f} MB a minute",
        ),
        (
            f"moment of a note's first word, {len(late_ms)} notes: mean, standard deviation, worst",
            f"{statistics.mean(late_ms):.0f} ms, {statistics.stdev(late_ms):.0f} ms, {max(map(abs, late_ms)):.0f} ms",
        ),
        (
            "the same, first and last third of the notes: mean",
            f"{statistics.mean(late_ms[: len(late_ms) // 3]):.0f} ms, {statistics.mean(late_ms[-(len(late_ms) // 3) :]):.0f} ms",
        ),
        ("sound lost", "; ".join(soaked.lost) or "none"),
    ]
    print("| what | measured |\n|---|---|")
    for what, measured in rows:
        print(f"| {what} | {measured} |")


def _delay(of_what: str) -> str:
    return f"delay of the answer from the end of speech, {of_what}: median, 95th percentile, worst"


def _spread(delays_s: Sequence[float]) -> str:
    if not delays_s:
        return "none"
    ranked = sorted(delays_s)
    return f"{ranked[len(ranked) // 2]:.2f} s, {ranked[int(0.95 * len(ranked))]:.2f} s, {ranked[-1]:.2f} s"


if __name__ == "__main__":
    main()
