"""How well calls are recognised: `make bench-recognition`, or `python tests/benchmarks/recognition.py --help`.

Prints, for synthetic calls of the kit's REPORT voices and for calls joined from a human's recorded words, at each
ratio of speech to cabin noise: how often the first answer is exactly what was said, how often the truth is among
the answers, how often a call was taken for no call; for talk that is no call, how often it was taken for one; and
the cost in processor seconds for each second of sound. With 95 % intervals (Wilson 1927, from memory).

`--tune` runs the same on the TUNING voices and other seeds; settings are chosen there and never on REPORT.
"""

from __future__ import annotations

import json
import multiprocessing
import sys
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from decimal import Decimal
from functools import partial
from pathlib import Path

import click
from rehearsed.shares import with_interval
from speechkit import calls, human, noise, talk
from speechkit.levels import Measure
from speechkit.speaking import say
from speechkit.voices import REPORT, TUNING

from grammar import Language, Phrasebook
from logger.model import RATE_HZ, Samples
from logger.ports import Recogniser
from logger.wiring.choosing import choose

Truth = tuple[tuple[str, Decimal, str], ...]
RATIOS_DB: tuple[float | None, ...] = (None, 20, 10, 5)
_MEASURES = {"band": Measure.BAND, "broadband": Measure.BROADBAND}


@dataclass(frozen=True, slots=True)
class Row:
    """Counts of one table row."""

    recogniser: str
    what: str
    measure: str
    ratio_db: float | None
    count: int
    first_right: int
    among_answers: int
    not_a_call: int
    sound_s: float
    processor_s: float


@dataclass(frozen=True, slots=True)
class Trial:
    """One sound to recognise: how to make it and what it means (None: no call)."""

    what: str
    voice: str
    make: Callable[[], Samples]
    truth: Truth | None


def synthetic(count: int, *, tune: bool) -> list[Trial]:
    """Return calls spoken by each voice in turn."""
    voices, seed = (TUNING, 555) if tune else (REPORT, 9001)
    return [
        Trial(
            "synthetic calls",
            voices[index % len(voices)].name,
            partial(say, voices[index % len(voices)], call.script),
            tuple((said.quantity, Decimal(said.value), said.unit) for said in call.truth),
        )
        for index, call in enumerate(calls.calls(count, seed))
    ]


def human_calls(count: int) -> list[Trial]:
    """Return calls joined from a human's recorded words, of the quantities whose words exist."""
    return [
        Trial(
            "human calls",
            "human",
            lambda call=call: call.samples,
            tuple((said.quantity, Decimal(said.value), said.unit) for said in call.truth),
        )
        for call in human.calls(count, seed=9002)
    ]


def other_talk(count: int, *, tune: bool) -> list[Trial]:
    """Return sentences that are no calls."""
    voices, seed = (TUNING, 556) if tune else (REPORT, 9003)
    return [
        Trial(
            "other talk",
            voices[index % len(voices)].name,
            partial(say, voices[index % len(voices)], text),
            None,
        )
        for index, text in enumerate(talk.sentences(count, seed))
    ]


def open_recogniser(name: str, language: Language) -> Recogniser:
    """Return the recogniser of that name, as `odovox ingest --recogniser` opens it.

    `vosk-tiny` is the tests' own tiny model, which proves the adapter for other people's models: it learned from flite's
    slt, a REPORT speaker, so its rows flatter it.
    """
    if name != "vosk-tiny":
        return choose(name, None, language).recogniser  # type: ignore[arg-type]
    from vosk_model import tiny_model

    from logger.recognisers.vosk_engine import VoskRecogniser

    return VoskRecogniser(tiny_model(), language.phrase_list(), language.vocabulary)


def human_language() -> Language:
    """Return the language of human calls: no lead word, since nobody recorded ours."""
    return Language(Phrasebook(lead="", notes=()))


_state: dict[str, object] = {}


def _begin(name: str, *, human_voice: bool) -> None:
    language = human_language() if human_voice else Language(Phrasebook())
    _state["language"] = language
    _state["recogniser"] = open_recogniser(name, language)


def _one(job: tuple[int, Trial, float | None, str]) -> tuple[bool, bool, bool, float, float, str]:
    index, trial, ratio_db, measure = job
    language, recogniser = _state["language"], _state["recogniser"]
    assert isinstance(language, Language)
    sound = noise.in_cabin(trial.make(), ratio_db, 40_000 + index, measure=_MEASURES[measure])
    began = time.process_time()
    answers = recogniser.recognise(sound)  # type: ignore[attr-defined]
    cost = time.process_time() - began
    meant = [
        [
            tuple((r.quantity, r.value, r.unit) for r in meaning.readings)
            for meaning in language.meanings(words)
        ]
        for words in ([word.text for word in answer.words] for answer in answers)
    ]
    parsed = [meanings for meanings in meant if meanings]
    first = bool(parsed) and trial.truth in parsed[0]
    anywhere = any(trial.truth in meanings for meanings in parsed)
    heard = answers[0].text if answers else ""
    return first, anywhere, not parsed, len(sound) / RATE_HZ, cost, heard


def run(name: str, trials: list[Trial], ratio_db: float | None, measure: str, *, misses: bool) -> Row:
    """Recognise all trials at one ratio, on every core."""
    jobs = [(index, trial, ratio_db, measure) for index, trial in enumerate(trials)]
    human_voice = trials[0].voice == "human"
    _jobs[:] = jobs
    # Opened in each worker: what Vosk has in memory does not stand a fork.
    context = multiprocessing.get_context("fork")
    with context.Pool(2, partial(_begin, name, human_voice=human_voice)) as pool:
        results = pool.map(_indexed, range(len(jobs)), chunksize=4)
    if misses:
        for trial, result in zip(trials, results, strict=True):
            if (trial.truth is None and not result[2]) or (trial.truth is not None and not result[0]):
                said = " ".join(f"{q} {v} {u}" for q, v, u in trial.truth or ())
                print(
                    f"    {trial.voice} {ratio_db}: {said} <- {result[5]}{' (listed)' * result[1]}",
                    file=sys.stderr,
                )
    return Row(
        name,
        trials[0].what,
        measure,
        ratio_db,
        len(results),
        sum(result[0] for result in results),
        sum(result[1] for result in results),
        sum(result[2] for result in results),
        sum(result[3] for result in results),
        sum(result[4] for result in results),
    )


_jobs: list[tuple[int, Trial, float | None, str]] = []


def _indexed(index: int) -> tuple[bool, bool, bool, float, float, str]:
    return _one(_jobs[index])


def show(row: Row) -> None:
    """Print one line of the table."""
    ratio = "clean" if row.ratio_db is None else f"{row.ratio_db:g} dB {row.measure}"
    print(
        f"{row.recogniser:<13}{row.what:<17}{ratio:<16}{row.count:>6}  {with_interval(row.first_right, row.count):<16}"
        f"{with_interval(row.among_answers, row.count):<16}{with_interval(row.not_a_call, row.count):<16}"
        f"{row.processor_s / row.sound_s:.3f}",
        flush=True,
    )


@click.command()
@click.option("--tune", is_flag=True, help="Use the TUNING voices and seeds.")
@click.option("--count", default=306, show_default=True, help="How many synthetic calls a row.")
@click.option("--ratios", default="clean,20,10,5", show_default=True)
@click.option("--measures", default="band,broadband", show_default=True)
@click.option("--recognisers", default="both,vosk,pocketsphinx", show_default=True)
@click.option("--only", type=click.Choice(["synthetic", "human", "talk"]), default=None)
@click.option("--misses", is_flag=True, help="Print every miss on stderr.")
@click.option("--json", "json_path", type=click.Path(path_type=Path), default=None)
def main(
    *,
    tune: bool,
    count: int,
    ratios: str,
    measures: str,
    recognisers: str,
    only: str | None,
    misses: bool,
    json_path: Path | None,
) -> None:
    """Print the table of recognition."""
    print(
        f"{'recogniser':<13}{'sound':<17}{'ratio':<16}{'n':>6}  {'first right %':<16}{'among answers %':<16}"
        f"{'no call %':<16}cpu s per s"
    )
    rows = []
    for name in recognisers.split(","):
        kinds = {
            "synthetic": lambda: synthetic(count, tune=tune),
            "human": lambda: human_calls(min(count, 160)),
            "talk": lambda: other_talk(min(count, 96), tune=tune),
        }
        for kind, make in kinds.items():
            if only not in (None, kind) or (tune and kind == "human"):
                continue
            trials = make()
            for text in ratios.split(","):
                ratio_db = None if text == "clean" else float(text)
                for measure in ("band",) if ratio_db is None else measures.split(","):
                    rows.append(run(name, trials, ratio_db, measure, misses=misses))
                    show(rows[-1])
    if json_path:
        json_path.write_text(json.dumps([asdict(row) for row in rows], indent=1))


if __name__ == "__main__":
    main()
