"""How well calls are recognised: `make bench-recognition`, or `python tests/benchmarks/recognition.py --help`.

Hears calls of the kit's REPORT voices, calls joined from recorded words and digits of people, and talk that is no call, in quiet,
at each ratio of speech to cabin noise and in each kind of noise by itself; with the call model, PocketSphinx, both joined as `auto`
does, and every public Vosk model that is installed. Prints the Markdown that docs/call-model.md holds, with 95 % intervals
(Wilson 1927, from memory); what is heard is kept under build/recognition, so a run that was stopped goes on.

`--tune` runs the same on the TUNING voices and other seeds; settings are chosen there and never on REPORT.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path

import click
from evaluation import read_speech
from evaluation.conditions import EVERY, Condition
from evaluation.costs import CHOICES, measured
from evaluation.ears import ears
from evaluation.hearing import hear
from evaluation.judging import Verdict, counted, verdicts
from evaluation.people import speakers
from evaluation.tables import Results, page, put_in
from evaluation.trials import KINDS, Trial, trials

ROOT = Path(__file__).resolve().parents[2]
KEPT = ROOT / "build" / "recognition"
FOUND = Path(__file__).with_name("data") / "recognition.json"
"""The newest whole run, from which docs/call-model.md has its tables."""
PAGE = ROOT / "docs" / "call-model.md"


def evaluated(
    said: list[Trial],
    conditions: tuple[Condition, ...],
    without: dict[str, Path],
    *,
    share: float = 1.0,
    processes: int = 2,
    tune: bool = False,
    misses: bool = False,
    costs: bool = False,
    kept: Path = KEPT,
) -> Results:
    """Return what every recogniser makes of some trials."""
    listening = ears(without)
    heard = hear(said, listening, conditions, kept, processes=processes, tune=tune)
    rows, pairs = counted(_shown(verdicts(said, conditions, heard), misses=misses))
    models = {ear.name: ear.folder for ear in listening if ear.kind == "public"}
    systems = {**dict.fromkeys(CHOICES), **models} if costs else {}
    missing = sorted({each.voice for each in said if each.kind == "digits"} - without.keys())
    remarks = [
        f"No call model was trained without {voice}, so it is not asked about that voice."
        for voice in missing
    ]
    remarks += [f"Whom {name} learned from is not known here, so its rows may flatter it." for name in models]
    return Results(
        date=f"{datetime.now(UTC):%Y-%m-%d}",
        share=share,
        rows=tuple(rows),
        pairs=tuple(pairs),
        costs=tuple(measured(system, model) for system, model in systems.items()),
        remarks=tuple(remarks),
    )


def _shown(
    found: Iterable[tuple[str, Trial, str, Verdict, str]], *, misses: bool
) -> Iterator[tuple[str, Trial, str, Verdict, str]]:
    """Yield what comes; print each miss."""
    for system, trial, condition, verdict, text in found:
        missed = not verdict.no_call if trial.truth is None else not verdict.first
        if misses and missed:
            listed = " (listed)" * verdict.among
            print(
                f"    {system}, {trial.voice}, {condition}: {trial.text} <- {text}{listed}", file=sys.stderr
            )
        yield system, trial, condition, verdict, text


@click.command()
@click.option("--tune", is_flag=True, help="Use the TUNING voices and seeds.")
@click.option(
    "--share",
    default=1.0,
    show_default=True,
    help="How much of the trials; a larger share goes on from there.",
)
@click.option(
    "--conditions", default="", help="Only these, by what their names begin with, such as 'clean,5 dB'."
)
@click.option("--kinds", default=",".join(KINDS), show_default=True)
@click.option(
    "--digits",
    type=click.Path(path_type=Path, exists=True),
    help="Folder of the Free Spoken Digit Dataset's recordings.",
)
@click.option(
    "--without",
    "without",
    multiple=True,
    help="VOICE=FOLDER: the call model trained without that voice; may be repeated.",
)
@click.option("--processes", default=2, show_default=True)
@click.option("--costs/--no-costs", default=True, help="Measure time and memory as well.")
@click.option("--misses", is_flag=True, help="Print every miss on stderr.")
@click.option("--json", "json_path", type=click.Path(path_type=Path), default=None)
@click.option(
    "--keep",
    is_flag=True,
    help="Keep the counts beside this file and put the tables into docs/call-model.md.",
)
def main(
    *,
    tune: bool,
    share: float,
    conditions: str,
    kinds: str,
    digits: Path | None,
    without: tuple[str, ...],
    processes: int,
    costs: bool,
    misses: bool,
    json_path: Path | None,
    keep: bool,
) -> None:
    """Print the tables of recognition.

    Example: python tests/benchmarks/recognition.py --share 0.1 --digits spoken-digits --without digits-lucas=build/without-lucas
    """
    if keep and (tune or conditions or not costs):
        raise click.UsageError("--keep wants a run over all conditions of REPORT, with costs")
    folders = {name: Path(folder) for name, _, folder in (each.partition("=") for each in without)}
    if unknown := folders.keys() - {f"digits-{name}" for name in (speakers(digits) if digits else ())}:
        raise click.UsageError(f"--digits has no recordings of {', '.join(sorted(unknown))}")
    sdist = None if tune else read_speech.fetched(ROOT / "build")
    said = [
        each
        for each in trials(digits=digits, sdist=sdist, tune=tune, share=share)
        if each.kind in kinds.split(",")
    ]
    begins = tuple(conditions.split(",")) if conditions else ("",)
    chosen = tuple(each for each in EVERY if each.name.startswith(begins))
    try:
        results = evaluated(
            said, chosen, folders, share=share, processes=processes, tune=tune, misses=misses, costs=costs
        )
    except ValueError as error:
        raise click.UsageError(str(error)) from error
    print(page(results))
    for path in ([json_path] if json_path else []) + ([FOUND] if keep else []):
        path.write_text(json.dumps(asdict(results), indent=1) + "\n", encoding="utf-8")
    if keep:
        PAGE.write_text(put_in(PAGE.read_text(encoding="utf-8"), results), encoding="utf-8")


if __name__ == "__main__":
    main()
