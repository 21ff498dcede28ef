"""A drive's recognitions -> what was called out, each call in the make-up that fits the others best. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from grammar import Language
from logger.core.candidates import Call, read_call, reframed
from logger.core.evidence import Surroundings, gather_facts
from logger.core.fitting import fits
from logger.core.parts import NumberedParts
from logger.core.readers import Readers
from logger.core.said import take_in
from logger.core.strands import Woven
from logger.core.trusting import AS_MEASURED, Trust, weighed_by
from logger.core.weaving import weave_at_first_sight
from logger.model import Issue, Recognition, Utterance


def read_calls(
    utterances: Sequence[Utterance],
    recognitions: Iterable[Recognition],
    language: Language,
    trust: Trust = AS_MEASURED,
) -> tuple[list[Call], list[Issue]]:
    """Return what was called out, and say how much was no call.

    Args:
        utterances: in order of time.
        recognitions: what was heard in them, in any order.
        language: what may be said.
        trust: what two joined recognisers' scores are worth.
    """
    parts = NumberedParts()
    by_utterance = {recognition.utterance_id: recognition for recognition in recognitions}
    calls: list[Call] = []
    waiting = talk = 0
    for utterance in utterances:
        recognition = by_utterance.get(utterance.id)
        if recognition is None:
            waiting += 1
            continue
        call = read_call(utterance, weighed_by(recognition, trust), language, parts)
        if call is None:
            continue
        if call.slots or _opens_a_call(recognition, language.phrasebook.lead):
            calls.append(call)
        else:
            talk += 1
    issues = []
    if waiting:
        issues.append(
            Issue("not_recognised", f"no recogniser has listened to {waiting} of the utterances yet")
        )
    if talk:
        lead = language.phrasebook.lead
        message = f"{talk} stretches of speech without '{lead}' and without a meaning were left out"
        issues.append(Issue("talk", message))
    return calls, issues


def _opens_a_call(recognition: Recognition, lead: str) -> bool:
    """Whether any answer has a word that only a call begins with; in open mode all speech may be a call."""
    return not lead or any(
        word.text in {lead, "correction"} for answer in recognition.hypotheses for word in answer.words
    )


def in_better_make_ups(
    calls: Sequence[Call], language: Language, around: Surroundings, readers: Readers
) -> tuple[list[Call], dict[str, Woven]]:
    """Return the calls, those of doubtful make-up in the one that fits the others best, and the strands as first seen.

    What people decided has no say in it: it would change which entry is which, and what the decisions are about.
    """
    said = take_in(calls)
    facts = gather_facts(language.phrasebook.quantities, said.remarks, said.readings, around)
    woven = weave_at_first_sight(said, facts, around, readers)
    doubtful = [number for number, call in enumerate(calls) if call.found]
    better = list(calls)
    for number, fit in zip(
        doubtful, fits([calls[number] for number in doubtful], woven, facts, around), strict=True
    ):
        better[number] = reframed(calls[number], fit.__getitem__)
    return better, woven
