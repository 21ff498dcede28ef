"""Phones and the numbers Kaldi gives them."""

from __future__ import annotations

from logger.recognisers.call_phones import (
    SILENCE,
    SOUNDS,
    first_step,
    further_step,
    numbered,
    phone_of,
    placed,
    places,
    talk_phone,
)


def sounds(*phones: str) -> tuple[int, ...]:
    """Return phones as numbers of sounds."""
    return numbered({"said": (phones,)})["said"][0]


def test_numbers_run_from_one_without_a_gap() -> None:
    """Kaldi numbers phones from 1 (0 is epsilon); each of ours is one of them, and none is used twice."""
    phones = places()

    assert list(range(1, len(phones) + 1)) == [each.phone for each in phones]
    assert phone_of(SILENCE) == phones[0].phone
    inside = {
        phone_of(s, p) for s in range(1, len(SOUNDS)) for p in ("begin", "end", "internal", "singleton")
    }
    assert not inside & {talk_phone(sound) for sound in range(1, len(SOUNDS))}


def test_transition_ids_are_two_for_each_phone() -> None:
    """Phone p has the transition-ids 2 p - 1 and 2 p: all used once, none 0."""
    ids = [step(each.phone) for each in places() for step in (first_step, further_step)]

    assert list(range(1, 2 * len(places()) + 1)) == sorted(ids)


def test_places_in_a_word() -> None:
    """A word begins and ends once; one of a single phone does both."""
    kinds = {each.phone: each.place for each in places()}

    assert ["begin", "internal", "end"] == [kinds[phone] for phone in placed(sounds("S", "IH", "K"))]
    assert ["begin", "end"] == [kinds[phone] for phone in placed(sounds("OW", "K"))]
    assert ["singleton"] == [kinds[phone] for phone in placed(sounds("OW"))]
