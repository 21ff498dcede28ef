"""How often the results' 95 % intervals of climb, wind, air and corrections cover the truth: the table of docs/method.md.

Invented cars (`rehearsed.weathered`) on REPORT seeds; `--group tuning` is what the constants were chosen on.
"""

from __future__ import annotations

import argparse
import time

from rehearsed.covering import FIGURES, REPORT, TUNING, covered
from rehearsed.shares import with_interval
from rehearsed.weathered import Kind, weathered

from logger.core.results.air import air
from logger.core.results.altitude import altitude, profile_series
from logger.core.results.closure import closure
from logger.core.results.corrected import corrected
from logger.core.results.road_load import road_load
from logger.core.results.steadiness import speed_series, steadiness
from logger.core.results.wind import wind

KINDS = {
    "as claimed": Kind(),
    "class only": Kind(by_class=True),
    "calm": Kind(calm=True),
    "gusts unlike the claim": Kind(gusty=True),
}
SHARES = {"as claimed": 1.0, "class only": 1.0, "calm": 0.2, "gusts unlike the claim": 0.4}


def timed_s(seed: int) -> tuple[int, float]:
    """Return the fixes of a drive and the processor time of all sections of it."""
    drive = weathered(seed)
    assert drive.seen.track is not None
    begun = time.process_time()
    for section in (steadiness, closure, altitude, air, wind, road_load):
        section(drive.seen)
    corrected(drive.seen, 300.0)
    profile_series(drive.seen)
    speed_series(drive.seen)
    return len(drive.seen.track.utc_ns), time.process_time() - begun


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--group", choices=("report", "tuning"), default="report")
    parser.add_argument("--drives", type=int, default=500)
    parser.add_argument("--only", choices=tuple(KINDS), action="append")
    asked = parser.parse_args()
    seeds = {"report": REPORT, "tuning": TUNING}[asked.group]
    for name, kind in KINDS.items():
        if asked.only and name not in asked.only:
            continue
        count = max(1, round(SHARES[name] * asked.drives))
        print(f"\n{name}, {count} drives ({asked.group})\n")
        print("| figure | truth within the interval, % (95 % Wilson) | mean truth | RMS error | mean width |")
        print("|---|---|---|---|---|")
        for figure, found in covered(seeds[:count], kind).items():
            share = with_interval(found.covered, found.drives, 1).strip()
            numbers = " | ".join(
                f"{each:.3g} {FIGURES[figure]}"
                for each in (found.mean_truth, found.rms_error, found.mean_width)
            )
            print(f"| {figure} | {share} | {numbers} |", flush=True)
    fixes, seconds = max(timed_s(seed) for seed in seeds[:5])
    print(f"\nAll sections of a drive of {fixes} fixes: {seconds:.2f} s of processor time")


if __name__ == "__main__":
    main()
