"""How often the intervals of results hold the truth: the table of docs/method.md.

Invented cars (`driven_out`) driven until past 0 % shown; every call is taken to be understood right. `--group tuning` is what constants
are chosen on; the figures to report are those of `--group report`.
"""

from __future__ import annotations

import argparse
import math

from driven_out import REPORT, TUNING
from held_truths import THUMB, tallied, wilson


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--group", choices=("tuning", "report"), default="report")
    parser.add_argument("--drives", type=int, default=None, help="so many drives; all by default")
    asked = parser.parse_args()
    seeds = (REPORT if asked.group == "report" else TUNING)[: asked.drives]
    print(f"{len(seeds)} drives, group {asked.group}\n")
    print("| figure | drives | held by its 95 % interval, % | half width, % | root mean square error, % |")
    print("|---|---|---|---|---|")
    for name, tally in tallied(seeds).items():
        held = half = ""
        if name != THUMB:
            low, high = wilson(tally.held, tally.drives)
            held = f"{100 * tally.share:.1f} ({100 * low:.1f}-{100 * high:.1f})"
            half = f"{100 * tally.halves / tally.drives:.2g}"
        error = 100.0 * math.sqrt(tally.squares / tally.drives)
        print(f"| {name} | {tally.drives} | {held} | {half} | {error:.2g} |")


if __name__ == "__main__":
    main()
