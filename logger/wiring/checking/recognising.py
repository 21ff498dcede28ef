"""The recogniser: does it load, does it know every word of the sheet, and what does it hear in what was captured?"""

from __future__ import annotations

import time
from collections.abc import Iterator

from logger.core.fitness.findings import Check, Figure, Finding, State, failed, untried
from logger.errors import RecogniserError, UnknownWordsError
from logger.model import RATE_HZ, Samples
from logger.wiring.checking.asked import Asked
from logger.wiring.choosing import choose

_SLOW = 0.5
"""Slower than this share of real time, answers come late and pile up when talk follows talk."""
_STANDING_IN = "the two together do not do"


def check_recognising(asked: Asked, captured: Samples) -> Iterator[Finding]:
    """Yield the findings on the recogniser and its vocabulary; `captured` may be empty."""
    began_s = time.monotonic()
    words = len(asked.language.vocabulary)
    try:
        chosen = choose(asked.recogniser, asked.model, asked.language)
    except UnknownWordsError as error:
        yield untried(Check.RECOGNISER, Check.VOCABULARY)
        yield failed(Check.VOCABULARY, str(error), {"words": words})
        return
    except RecogniserError as error:
        yield failed(Check.RECOGNISER, str(error))
        yield untried(Check.VOCABULARY, Check.RECOGNISER)
        return
    load_s = time.monotonic() - began_s
    name = chosen.recogniser.name
    figures: dict[str, Figure] = {"name": name, "load_s": round(load_s, 2), "answer_s": None, "heard": None}
    what = f"{name}, ready in {load_s:.1f} s"
    slow = False
    if len(captured):
        began_s = time.monotonic()
        answers = chosen.recogniser.recognise(captured)
        answer_s = time.monotonic() - began_s
        length_s = len(captured) / RATE_HZ
        slow = answer_s > _SLOW * length_s
        heard = answers[0].text if answers else ""
        figures |= {"answer_s": round(answer_s, 2), "heard": heard}
        what += f"; heard {length_s:.0f} s in {answer_s:.1f} s: " + (f"'{heard}'" if heard else "no call")
    if chosen.why.startswith(_STANDING_IN):
        yield Finding(
            Check.RECOGNISER,
            State.WARNING,
            f"{what}; alone, since {chosen.why}",
            "install odovox again",
            figures,
        )
    elif slow:
        todo = "close other programs, or use --recogniser pocketsphinx"
        yield Finding(Check.RECOGNISER, State.WARNING, f"{what}, which is slow", todo, figures)
    else:
        yield Finding(Check.RECOGNISER, State.OK, what, "", figures)
    # Every recogniser refuses to open when it lacks a word, so one that has opened knows them all.
    what = f"all {words} words of the sheet's language are known to it"
    yield Finding(Check.VOCABULARY, State.OK, what, "", {"words": words})
