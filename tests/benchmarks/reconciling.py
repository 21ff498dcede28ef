"""How well whole drives are reconciled: `make bench-reconcile`, or `python tests/benchmarks/reconciling.py --help`.

Simulated drives were spoken by synthetic voices in cabin noise and heard by the real recognisers beforehand
(`tests/kit/rehearsed`, `tests/kit/other_sound`); here their lists of answers are settled and held against what was
said. Prints one table and the calibration, with 95 % intervals (Wilson 1927, from memory):

- ordinary drives by ratio of speech to noise (broadband), settled by odovox, by odovox with one recogniser, and by what
  one might do without it, in the same run;
- drives with an exception in them, composed of single calls. The same calls come again and again, in one drive too, so
  that errors come in heaps and the intervals are too narrow: how many drives have one says more;
- what is entered after sound in which nothing is called out, in the same columns: all of it is false;
- the time that 100, 1,000 and 10,000 calls take.

`--group tuning` does the same on the drives that settings are chosen on, and says how honest the recognisers' scores are.
"""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path

import click
from other_sound import GROUPS as SOUNDS
from rehearsed.comparing import ODOVOX, compared
from rehearsed.false_entries import FalseEntries, alone, within
from rehearsed.long_drives import timed
from rehearsed.plotting import reliability_svg
from rehearsed.quick import QUICK, write_quick
from rehearsed.records import load
from rehearsed.scoring import Scored, scored
from rehearsed.settled import BOTH, SPHINX, VOSK
from rehearsed.shares import interval, with_interval
from rehearsed.surveying import by_exception, by_way
from rehearsed.tallying import EDGES, Tally
from tabulate import tabulate

BUILD = Path(__file__).resolve().parents[2] / "build"
SECTIONS = ("drives", "exceptions", "other sound", "time")
RATIO_DB = 10.0
"""Speech over noise, broadband, where only one is measured."""
LENGTHS = (100, 1_000, 10_000)
HEAD = (
    "drives",
    "settled by",
    "calls",
    "read-\nings",
    "accepted\nof said %",
    "silent errors\nof accepted %",
    "repaired of\nfirst wrong %",
    "flagged",
    "first suggestion\nright %",
    "truth among\nthree %",
    "mis-\nsing",
    "of nothing:\nall, accepted",
    "surprises: asked,\nkept, replaced",
    "cpu\nms/call",
)
SCORES_HEAD = ("scores of", "calls", "truth in no answer", "temperature", "log loss", "best", "its log loss")


@dataclass(slots=True)
class Found:
    """All that was counted."""

    ways: dict[tuple[float | None, str], Tally] = field(default_factory=dict)
    exceptions: dict[str, Tally] = field(default_factory=dict)
    sounds: list[FalseEntries] = field(default_factory=list)
    processor_s: dict[int, float] = field(default_factory=dict)
    scores: list[Scored] = field(default_factory=list)

    def as_json(self) -> dict[str, object]:
        """Return it as JSON holds it."""
        return {
            "drives": [
                {"ratio_db": ratio, "settled_by": way, **tally.as_json()}
                for (ratio, way), tally in self.ways.items()
            ],
            "exceptions": {name: tally.as_json() for name, tally in self.exceptions.items()},
            "other_sound": [asdict(each) for each in self.sounds],
            "scores": [asdict(each) for each in self.scores],
            "processor_s": {str(calls): seconds for calls, seconds in self.processor_s.items()},
        }


def there(path: Path, command: str) -> bool:
    """Whether a file is there; if not, say on stderr how it is made."""
    if not path.exists():
        print(f"{path} is missing: PYTHONPATH=.:tests/kit python -m {command} --out {path}", file=sys.stderr)
    return path.exists()


def count(group: str, folder: Path, sections: tuple[str, ...], *, composed: int, jobs: int) -> Found:
    """Settle and count all that there is."""
    found = Found()
    main, bank = (folder / "rehearsed" / f"{group}-{part}.jsonl.gz" for part in ("main", "bank"))
    sound = folder / "other_sound" / f"{group}.jsonl.gz"
    collecting = f"rehearsed.collecting --group {group} --part"
    drives = list(load(main)) if there(main, f"{collecting} main --open-words") else []
    miles = [each for each in drives if each.ratio_db == RATIO_DB and each.system == "miles"]
    if "drives" in sections:
        found.ways = by_way(drives, jobs)
        if group == "tuning" and drives:
            found.scores = [scored(drives, recogniser) for recogniser in (BOTH, VOSK, SPHINX)]
    if "exceptions" in sections and there(bank, f"{collecting} bank --ratios {RATIO_DB:g}"):
        found.exceptions = by_exception(bank, RATIO_DB, composed, jobs)
    if "other sound" in sections and there(sound, f"other_sound.collecting --group {group}"):
        hours = SOUNDS[group].length_s / 3600
        for each in load(sound):
            found.sounds.append(alone(each, hours))
            if miles:
                found.sounds.append(within(each, miles[0], hours))
    if "time" in sections and miles:
        found.processor_s = {length: timed(miles, length).processor_s for length in LENGTHS}
    return found


def quick(jobs: int) -> Found:
    """Settle and count the drives that the repository keeps."""
    drives = list(load(QUICK))
    found = Found(by_way((each for each in drives if not each.exception), jobs))
    for each in drives:
        if each.exception:
            tally = compared(each, (ODOVOX,))[ODOVOX]
            found.exceptions[each.exception] = found.exceptions.get(each.exception, Tally()) + tally
    return found


def rows(found: Found) -> Iterator[list[object]]:
    """Yield the table's rows."""
    for (ratio_db, way), tally in by_ratio(found.ways):
        name = "no noise" if ratio_db is None else f"{ratio_db:g} dB"
        yield row(f"{name}: {tally.drives} drives", way, tally)
    for name, tally in found.exceptions.items():
        yield row(f"{name}: {tally.drives} drives", ODOVOX, tally)
    for each in found.sounds:
        yield sound_row(each)
    for calls, processor_s in found.processor_s.items():
        yield [f"time: {processor_s:.2f} s", ODOVOX, calls, *[""] * 10, f"{1000 * processor_s / calls:.2f}"]


def sound_row(found: FalseEntries) -> list[object]:
    """Return one row of sound without a call: what is accepted there are errors."""
    where = f"in {found.within}" if found.within else "alone"
    own = f"\n{found.own_lost} of {found.own} own lost, {found.own_wrong} wrong" if found.within else ""
    accepted = found.accepted + found.notes
    stretches = with_interval(found.stretches_accepted, found.stretches).strip()
    return [
        f"{found.kind} {where}: {found.hours:.2f} h{own}",
        ODOVOX,
        f"{found.stretches} cut\n{found.heard} heard",
        0,
        "",
        f"{found.accepted} + {found.notes} notes, {accepted / found.hours:.1f}/h\nin {stretches} % of stretches",
        "",
        f"{found.flagged}\n{found.flagged / found.hours:.1f}/h",
    ]


def by_ratio(
    found: Mapping[tuple[float | None, str], Tally],
) -> list[tuple[tuple[float | None, str], Tally]]:
    """Return ordinary drives' tallies with the loudest speech first."""
    return sorted(found.items(), key=lambda each: -math.inf if each[0][0] is None else -each[0][0])


def row(name: str, way: str, tally: Tally) -> list[object]:
    """Return one row of drives."""
    shares = {what: _cell(*pair) for what, pair in tally.shares().items()}
    low, high = interval(tally.silent, tally.accepted) if tally.accepted else (0.0, 1.0)
    silent = f"{tally.silent}/{tally.accepted} ({100 * low:.2f}-{100 * high:.2f})"
    if tally.silent_drives:
        silent += f" in {tally.silent_drives} drives"
    surprises = (
        f"{tally.surprises_asked}, {tally.surprises_kept}, {tally.surprises_replaced} of {tally.surprises}"
    )
    return [
        name,
        way,
        tally.calls,
        tally.said,
        shares["accepted of said"],
        silent,
        shares["repaired of first wrong"],
        tally.flagged,
        shares["flagged: first right"],
        shares["flagged: among first three"],
        tally.missing,
        f"{tally.of_nothing}, {tally.accepted_of_nothing}",
        surprises if tally.surprises else "",
        f"{1000 * tally.processor_s / tally.calls:.2f}" if tally.processor_s else "",
    ]


def _cell(part: int, whole: int) -> str:
    return f"{part}/{whole} {with_interval(part, whole)}" if whole else ""


def calibration(found: Mapping[tuple[float | None, str], Tally]) -> Iterator[list[object]]:
    """Yield how often entries are right, by how sure odovox was of them."""
    for (ratio_db, way), tally in by_ratio(found):
        if way != ODOVOX:
            continue
        for low, high, each in zip((0.0, *EDGES), (*EDGES, 1.0), tally.bins.bins, strict=True):
            if each.count:
                mean = f"{100 * each.confidence / each.count:.2f}"
                right = with_interval(each.right, each.count, 1)
                yield [f"{ratio_db} dB", f"{low}-{high}", each.count, mean, right]


@click.command()
@click.option("--group", type=click.Choice(["tuning", "report"]), default="report", show_default=True)
@click.option("--from", "folder", type=click.Path(path_type=Path), default=BUILD, help="Where the lists are.")
@click.option("--only", type=click.Choice(SECTIONS), multiple=True, help="These parts and no others.")
@click.option("--composed", default=320, show_default=True, help="How many seeds of each exception.")
@click.option("--jobs", default=2, show_default=True, help="Processes; time is measured in one.")
@click.option("--quick", "be_quick", is_flag=True, help="Only the few drives that the repository keeps.")
@click.option("--write-quick", "write", is_flag=True, help="Make those few drives from the tuning group's.")
@click.option("--json", "json_path", type=click.Path(path_type=Path), default=None)
@click.option("--plot", type=click.Path(path_type=Path), default=None, help="Draw the calibration as SVG.")
def main(
    *,
    group: str,
    folder: Path,
    only: tuple[str, ...],
    composed: int,
    jobs: int,
    be_quick: bool,
    write: bool,
    json_path: Path | None,
    plot: Path | None,
) -> None:
    """Print the table of reconciling."""
    if write:
        write_quick(*(folder / "rehearsed" / f"tuning-{part}.jsonl.gz" for part in ("main", "bank")))
        return
    if be_quick:
        group, found = "tuning", quick(jobs)
    else:
        found = count(group, folder, only or SECTIONS, composed=composed, jobs=jobs)
    if found == Found():
        raise SystemExit(1)
    print(tabulate(rows(found), HEAD, disable_numparse=True))
    print()
    print(tabulate(calibration(found.ways), ("drives", "confidence", "entries", "mean %", "right %")))
    if found.scores:
        print()
        print(tabulate([list(asdict(each).values()) for each in found.scores], SCORES_HEAD, floatfmt=".3f"))
    if json_path:
        json_path.write_text(json.dumps({"group": group, **found.as_json()}, indent=1), encoding="utf-8")
    if plot:
        bins = {f"{db:g} dB": each.bins for (db, way), each in found.ways.items() if way == ODOVOX and db}
        plot.write_text(
            reliability_svg(bins, "Readings of rehearsed drives, by speech over noise"), encoding="utf-8"
        )


if __name__ == "__main__":
    main()
