"""The readings of a drive, with what people decided, as strands; and where each reading lies in its strand. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from grammar import Language
from logger.core.decided import Decided
from logger.core.evidence import Surroundings
from logger.core.expecting import likely_values
from logger.core.foreign import Foreign
from logger.core.guessing import with_guesses
from logger.core.jumps import COUNTED, Doubt, doubts_beside_jumps, misheard_alike
from logger.core.neighbours import Place, places
from logger.core.plausible.strand import REACH
from logger.core.readers import Reader, Readers, certain, with_all_heard
from logger.core.rules import Context, Facts, Observation, Outcome, judge
from logger.core.said import Said
from logger.core.settling import ACCEPTED
from logger.core.strands import Knot, Woven, weave
from logger.model import Entry, Status

_ODD = 3e-4
"""A value that was reached, or led on from, by a surprise with less probability than that passes all rules."""


class Link(NamedTuple):
    """A knot of a strand, and the reading it is of; None for a value that a person decided."""

    knot: Knot
    reader: Reader | None


def weave_at_first_sight(
    said: Said, facts: Facts, around: Surroundings, readers: Readers
) -> dict[str, Woven]:
    """Return the strands of all readings that stand, as far as the driver's own words go."""
    chains: dict[str, list[Link]] = {}
    for spoken in said.readings:
        if spoken.slot.id not in said.gone:
            reader = readers.of(spoken)
            chains.setdefault(reader.observations[0].quantity, []).append(Link(reader.knot(), reader))
    return weave(_knots(_in_order(chains)), facts, around)


def weave_with_decisions(
    standing: Sequence[Reader],
    pinned: Sequence[Entry],
    decided: Decided,
    known: Mapping[str, Woven],
    *,
    facts: Facts,
    around: Surroundings,
    language: Language,
) -> tuple[list[tuple[Reader, Place]], dict[str, str]]:
    """Return the readings that nobody has decided about, each with its place in its settled strand; and doubts beside jumps.

    What people decided stands in the strands as certain. Readings that are not certain at first sight are looked at
    again, with what else their words may have been; and distances beside a jump that may be misheard alike, as such.
    The doubts are by entry id.

    Args:
        standing: the readings that still stand.
        pinned: entries whose value a person decided, of other readings or of none.
        decided: what people decided.
        known: the strands at first sight.
        facts: what the whole drive says.
        around: the track.
        language: what may be said.
    """
    chains = _in_order(_chains(standing, pinned, decided, around))
    woven = weave(_knots(chains), facts, around, known)
    counted = {quantity: chain for quantity, chain in chains.items() if quantity in COUNTED}
    doubts = doubts_beside_jumps(_placed(counted, woven), facts)
    if any(doubt.is_alike for doubt in doubts.values()):
        chains = {
            quantity: _misheard_alike(chain, doubts, language, around) for quantity, chain in chains.items()
        }
        woven = weave(_knots(chains), facts, around, woven)
    look = _SecondLook(woven, facts, around, language)
    again = {quantity: look.at(quantity, chain) for quantity, chain in chains.items()}
    found = _placed(again, weave(_knots(again), facts, around, woven))
    return found, {entry_id: doubt.reason for entry_id, doubt in doubts.items()}


def _placed(chains: Mapping[str, Sequence[Link]], woven: Mapping[str, Woven]) -> list[tuple[Reader, Place]]:
    """Return the readings of all strands, each with its place in its own."""
    found = []
    for quantity, chain in chains.items():
        firsts = [
            None if link.reader is None else link.knot.observations[link.reader.first[0]] for link in chain
        ]
        for link, place in zip(chain, places(woven[quantity], firsts, REACH), strict=True):
            if link.reader is not None:
                found.append((link.reader, place))
    return found


def _misheard_alike(
    chain: Sequence[Link], doubts: Mapping[str, Doubt], language: Language, around: Surroundings
) -> list[Link]:
    """Return a strand's links, those weighed anew that would do without a jump."""
    found = []
    for link in chain:
        doubt = None if link.reader is None else doubts.get(link.reader.id)
        if link.reader is not None and doubt is not None and doubt.is_alike:
            reader = misheard_alike(link.reader, doubt, language, around)
            found.append(Link(reader.knot(), reader))
        else:
            found.append(link)
    return found


class _SecondLook:
    """Looks again at readings that a first weaving leaves in doubt, with what else may have been said."""

    def __init__(
        self, woven: Mapping[str, Woven], facts: Facts, around: Surroundings, language: Language
    ) -> None:
        self._woven, self._facts, self._around, self._language = woven, facts, around, language
        self._foreign = Foreign(woven, facts, around)

    def at(self, quantity: str, chain: Sequence[Link]) -> list[Link]:
        """Return a strand's links, those in doubt looked at again."""
        woven = self._woven[quantity]
        rows, best = np.arange(len(woven.knots)), woven.posterior.likeliest
        odd = np.maximum(woven.posterior.surprise_before, woven.posterior.surprise_after)[rows, best] > _ODD
        found = []
        for link, certainly, is_odd, place in zip(
            chain, woven.all_taken(ACCEPTED), odd.tolist(), places(woven), strict=True
        ):
            if link.reader is None or (
                certainly is not None and not (is_odd and self._is_doubted(certainly, place))
            ):
                found.append(link)
            else:
                reader = self._again(link.reader, place)
                found.append(Link(reader.knot(), reader))
        return found

    def _is_doubted(self, observed: Observation, place: Place) -> bool:
        """Whether the rules doubt what is all but certain; asked only where the step to it or from it is a little odd."""
        return judge(observed, Context(self._facts, place.before, place.after)).outcome is not Outcome.PASS

    def _again(self, reader: Reader, place: Place) -> Reader:
        heard = reader.observations[reader.first[0]]
        likely = likely_values(heard, place, self._facts.clock_ahead_min)
        reader = with_all_heard(reader, self._around)
        return self._foreign.judged(with_guesses(reader, self._language, self._around, likely))


def _chains(
    standing: Sequence[Reader], pinned: Sequence[Entry], decided: Decided, around: Surroundings
) -> dict[str, list[Link]]:
    chains: dict[str, list[Link]] = {}

    def pin(quantity: str, knot: Knot, reader: Reader | None) -> None:
        chains.setdefault(quantity, []).append(Link(knot, reader))

    for reader in standing:
        value = decided.value_of(reader.id)
        if value is None:
            pin(reader.observations[0].quantity, reader.knot(), reader)
        else:
            pin(value[0], certain(around.observe(*value, reader.spoken.at_ns)), None)
    for entry in pinned:
        if entry.value is not None and entry.status is not Status.REJECTED:
            observed = around.observe(entry.quantity, entry.value, entry.unit, entry.at_ns)
            pin(entry.quantity, certain(observed), None)
    return chains


def _in_order(chains: Mapping[str, list[Link]]) -> dict[str, list[Link]]:
    # Stable: those of one time in the order said.
    return {quantity: sorted(chain, key=lambda link: link.knot.at_ns) for quantity, chain in chains.items()}


def _knots(chains: Mapping[str, Sequence[Link]]) -> dict[str, list[Knot]]:
    return {quantity: [link.knot for link in chain] for quantity, chain in chains.items()}
