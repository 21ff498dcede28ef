"""The readings of a drive, with what people decided, as strands; and where each reading lies in its strand. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from grammar import Language
from logger.core.decided import Decided
from logger.core.evidence import Surroundings
from logger.core.expecting import likely_values
from logger.core.guessing import with_guesses
from logger.core.neighbours import Place, places, trusted_around
from logger.core.plausible.strand import REACH
from logger.core.readers import Reader, Readers, certain
from logger.core.rules import Facts
from logger.core.said import Said
from logger.core.settling import ACCEPTED
from logger.core.strands import Knot, Woven, weave
from logger.model import Entry, Status


@dataclass(frozen=True, slots=True)
class Link:
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
) -> list[tuple[Reader, Place]]:
    """Return the readings that nobody has decided about, each with its place in its settled strand.

    What people decided stands in the strands as certain. Readings that are not certain at first sight are looked at
    again, with what else their words may have been.

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
    again = {
        quantity: _looked_at_again(chain, woven[quantity], facts, language, around)
        for quantity, chain in chains.items()
    }
    woven = weave(_knots(again), facts, around, woven)
    found = []
    for quantity, chain in again.items():
        firsts = [
            None if link.reader is None else link.knot.observations[link.reader.first[0]] for link in chain
        ]
        for link, place in zip(chain, places(woven[quantity], firsts, REACH), strict=True):
            if link.reader is not None:
                found.append((link.reader, place))
    return found


def _looked_at_again(
    chain: Sequence[Link], woven: Woven, facts: Facts, language: Language, around: Surroundings
) -> list[Link]:
    """Return a strand's links, those that are not certain with what else may have been said."""
    found = []
    for index, (link, certainly, before_at, after_at) in enumerate(
        zip(chain, woven.all_taken(ACCEPTED), *trusted_around(woven), strict=True)
    ):
        if certainly is not None or link.reader is None:
            found.append(link)
            continue
        heard = link.knot.observations[link.reader.first[0]]
        likely = likely_values(heard, Place(woven, index, before_at, after_at), facts.clock_ahead_min)
        reader = with_guesses(link.reader, language, around, likely)
        found.append(Link(reader.knot(), reader))
    return found


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
