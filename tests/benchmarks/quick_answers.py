"""How often the quicker recogniser's answer to a call stands once both have heard it: what a live drive reads back at once.

Lists of answers as `rehearsed.collecting` makes them; each call is answered by the call model alone, then by both, as said.

    python tests/benchmarks/quick_answers.py --from build/rehearsed/tuning-main.jsonl.gz
"""

from __future__ import annotations

import argparse
from collections import Counter
from pathlib import Path

from rehearsed.comparing import track
from rehearsed.hearing import language
from rehearsed.records import RehearsedDrive, load
from rehearsed.settled import BOTH, VOSK, facts_of
from rehearsed.tracks import began_utc_ns

from logger.core.live import LiveReconciler
from logger.core.verdicts import Verdict, verdict_on
from logger.model import Drive, Entry

WAYS = ("stands", "another value", "put in doubt", "no call", "in doubt: settled by both", "in doubt still")


def answers(drive: RehearsedDrive) -> Counter[str]:
    """Count what became of the quick answers of a drive; calls that the quicker one does not hear have none."""
    utterances, both = facts_of(drive, BOTH)
    quick = {each.utterance_id: each for each in facts_of(drive, VOSK)[1]}
    live = LiveReconciler(Drive(began_utc_ns(drive), ""), language(drive.system), track(drive.seed))
    found: Counter[str] = Counter()
    for utterance, recognition in zip(utterances, both, strict=True):
        before = live.known()
        first = live.hear(utterance, quick[utterance.id])
        live.go_back_to(before)
        after = live.hear(utterance, recognition)
        if after:
            live.learn()
        if first:
            found[_became(first, after)] += 1
    return found


def _became(first: tuple[Entry, ...], after: tuple[Entry, ...]) -> str:
    verdict = verdict_on(after)
    if verdict_on(first) is not Verdict.TAKEN:
        return "in doubt: settled by both" if verdict is Verdict.TAKEN else "in doubt still"
    if not after:
        return "no call"
    if [_said(each) for each in first] != [_said(each) for each in after]:
        return "another value"
    return "stands" if verdict is Verdict.TAKEN else "put in doubt"


def _said(entry: Entry) -> tuple[object, ...]:
    return entry.quantity, entry.value, entry.unit, entry.note


def main() -> None:
    """Print a row for each ratio of speech to noise."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "--from", dest="path", type=Path, default=Path("build/rehearsed/tuning-main.jsonl.gz")
    )
    counts: dict[float, Counter[str]] = {}
    for drive in load(parser.parse_args().path):
        counts.setdefault(drive.ratio_db or 0.0, Counter()).update(answers(drive))
    print(f"| dB | quick answers | {' | '.join(WAYS)} |\n|---|---|{'---|' * len(WAYS)}")
    for ratio_db, found in sorted(counts.items(), reverse=True):
        print(f"| {ratio_db:g} | {found.total()} | {' | '.join(str(found[way]) for way in WAYS)} |")


if __name__ == "__main__":
    main()
