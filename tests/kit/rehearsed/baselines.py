"""What is done without weighing a whole drive: the first answer as it is, and hard rules going along with the drive.

Baselines see what the reconciler sees and give entries as it does, to be judged alike. A correction is to them a
reading like any other, and no note lifts a rule: the ordinary drives that they are run on have neither.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from logger.core.evidence import Surroundings
from logger.core.rules import Context, Facts, Observation, Outcome, judge
from logger.model import Drive, Entry, Origin, Status
from rehearsed.hearing import language
from rehearsed.open_words import parsed
from rehearsed.records import RehearsedDrive, SaidReading
from rehearsed.settled import first_readings, heard_by
from rehearsed.tracks import PlaceAt, began_utc_ns

Readings = Sequence[Sequence[SaidReading]]
"""For each call of a drive, what is taken to have been said."""


def first_answers(drive: RehearsedDrive, recogniser: str) -> tuple[list[Entry], Readings]:
    """Return each call's first answer that has a meaning, taken as it is."""
    firsts = first_readings(drive, recogniser)
    meanings = language(drive.system).meanings
    no_meaning = []
    for call, found in zip(drive.calls, firsts, strict=True):
        answers = heard_by(call, recogniser)
        understood = bool(found) or any(meanings([word.text for word in each.words]) for each in answers)
        no_meaning.append(bool(answers) and not understood)
    return as_entries(drive, firsts, no_meaning), firsts


def open_words(drive: RehearsedDrive) -> tuple[list[Entry], Readings]:
    """Return the readings that the number parser finds in the open vocabulary's answers, taken as they are."""
    texts = [call.open_words or "" for call in drive.calls]
    found = [parsed(text, drive.system) for text in texts]
    # "check" is what is left of the lead word; without it, words without a reading may be any talk.
    no_meaning = ["check" in text and not each for text, each in zip(texts, found, strict=True)]
    return as_entries(drive, found, no_meaning), found


def as_entries(drive: RehearsedDrive, readings: Readings, no_meaning: Sequence[bool]) -> list[Entry]:
    """Return all readings as accepted entries, and a flagged one for each call that was not understood."""
    entries = []
    for number, (call, found, lost) in enumerate(
        zip(drive.calls, readings, no_meaning, strict=True), start=1
    ):
        at_ns = round(call.at_s * 1e9)
        entries += [_entry(number, place, at_ns, each) for place, each in enumerate(found, start=1)]
        if lost:
            entries.append(_entry(number, 1, at_ns, None))
    return entries


def hard_rules(drive: RehearsedDrive, place_at: PlaceAt, recogniser: str) -> tuple[list[Entry], Readings]:
    """Return first answers one by one, each accepted if the rules pass it beside the last accepted of its quantity."""
    taken, firsts = first_answers(drive, recogniser)
    quantities = language(drive.system).phrasebook.quantities
    facts = Facts({quantity.name: quantity for quantity in quantities})
    around = Surroundings(
        Drive(began_utc_ns(drive), ""), place_at, [round(call.at_s * 1e9) for call in drive.calls]
    )
    last: dict[str, Observation] = {}
    entries = []
    for entry in taken:
        if entry.value is None:
            entries.append(entry)
            continue
        observed = around.observe(entry.quantity, entry.value, entry.unit, entry.at_ns)
        if judge(observed, Context(facts, last.get(entry.quantity))).outcome is Outcome.PASS:
            last[entry.quantity] = observed
            entries.append(entry)
        else:
            entries.append(replace(entry, status=Status.FLAGGED))
    return entries, firsts


def _entry(call: int, place: int, at_ns: int, reading: SaidReading | None) -> Entry:
    return Entry(
        id=f"{call}-{place}",
        utterance_id=call,
        at_ns=at_ns,
        quantity="unheard" if reading is None else reading.quantity,
        value=None if reading is None else Decimal(reading.value),
        unit="" if reading is None else reading.unit,
        status=Status.FLAGGED if reading is None else Status.ACCEPTED,
        confidence=0.0,
        origin=Origin.HEARD,
        heard="",
        note="",
        reason="",
    )
