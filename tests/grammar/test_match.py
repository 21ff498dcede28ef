"""Words to meanings: ambiguity kept, positions right, nothing else than a slow and obvious matcher finds."""

from __future__ import annotations

import random
import tracemalloc
from collections.abc import Iterator, Sequence
from decimal import Decimal

import pytest
from speechkit.calls import calls

from grammar import CommandKind, Language, Phrasebook
from grammar.match import MOST_TRAILS, Matcher
from grammar.network import Network
from grammar.nodes import Choice, Loop, Mark, MarkKind, Node, Rule, Seq, Word, choice, digits, seq
from grammar.readings import Command, Meaning, Reading

LANGUAGE = Language(Phrasebook())
OPEN_LANGUAGE = Language(Phrasebook(lead=""))
LEADS = (MarkKind.CORRECTION, MarkKind.CHECKPOINT)

Placed = tuple[tuple[int, Mark], ...]
"""Marks in order, each with the number of the word it stands before."""


class PlainMatcher:
    """The slow, obvious way: take the phrase apart by the nodes as they are written, trying everything.

    What a part can do with the words from a position on is kept while one phrase is matched, or it would take hours.
    """

    def __init__(self, node: Node) -> None:
        self._node = node
        self._words: Sequence[str] = ()
        self._known: dict[tuple[int, int], list[tuple[int, Placed]]] = {}

    def match(self, words: Sequence[str]) -> tuple[Meaning, ...]:
        """Return every meaning, in the order of `Matcher.match`."""
        self._words, self._known = words, {}
        ways = self._ways(self._node, 0)
        found = {plain_meaning(placed, len(words)) for end, placed in ways if end == len(words)}
        return tuple(sorted(found, key=lambda meaning: (len(meaning.parts), repr(meaning))))

    def _ways(self, node: Node, position: int) -> list[tuple[int, Placed]]:
        """Return where a part that begins at a word can end, with the marks on the way."""
        key = (id(node), position)
        if key not in self._known:
            self._known[key] = list(dict.fromkeys(self._tried(node, position)))
        return self._known[key]

    def _tried(self, node: Node, position: int) -> Iterator[tuple[int, Placed]]:
        match node:
            case Word(text):
                if position < len(self._words) and self._words[position] == text:
                    yield position + 1, ()
            case Mark():
                yield position, ((position, node),)
            case Seq(parts):
                yield from self._one_after_another(parts, position)
            case Choice(options):
                for option in options:
                    yield from self._ways(option, position)
            case Rule(_, part):
                yield from self._ways(part, position)
            case Loop(part):
                for middle, placed in self._ways(part, position):
                    yield middle, placed
                    yield from ((end, placed + more) for end, more in self._ways(node, middle))

    def _one_after_another(self, parts: tuple[Node, ...], position: int) -> list[tuple[int, Placed]]:
        ways: list[tuple[int, Placed]] = [(position, ())]
        for part in parts:
            ways = [(end, placed + more) for middle, placed in ways for end, more in self._ways(part, middle)]
        return ways


def plain_meaning(placed: Placed, word_count: int) -> Meaning:
    """Cut marks at their starts; a lead mark says what the parts after it are and ends the part before it."""
    starts = [i for i, (_, mark) in enumerate(placed) if mark.kind is MarkKind.START]
    parts = []
    for start, following in zip(starts, [*starts[1:], None], strict=True):
        leads = [mark.kind for _, mark in placed[:start] if mark.kind in LEADS]
        correction = leads[-1:] == [MarkKind.CORRECTION]
        end = following
        while end is not None and placed[end - 1][1].kind in LEADS:
            end -= 1
        end_word = word_count if end is None else placed[end][0]
        said: dict[MarkKind, str] = {}
        for _, mark in placed[start:end]:
            said[mark.kind] = said.get(mark.kind, "") + mark.text
        parts.append(plain_part(said, placed[start][0], end_word, correction=correction))
    return Meaning(tuple(parts))


def plain_part(
    said: dict[MarkKind, str], first_word: int, end_word: int, *, correction: bool
) -> Reading | Command:
    """Make a part of what its marks say."""
    if MarkKind.COMMAND in said:
        return Command(CommandKind(said[MarkKind.COMMAND]), "", first_word, end_word)
    if MarkKind.NOTE in said:
        return Command(CommandKind.NOTE, said[MarkKind.NOTE], first_word, end_word)
    if MarkKind.HOUR in said:
        hours = {"24": 0, "am": 0, "pm": 12}[said[MarkKind.HALF_DAY]]
        hour = int(said[MarkKind.HOUR])
        hours += hour if said[MarkKind.HALF_DAY] == "24" else hour % 12
        value = Decimal((60 * hours + int(said[MarkKind.MINUTE])) % 1440)
    else:
        value = Decimal(said[MarkKind.DIGITS])
        if MarkKind.NEGATIVE in said:
            value = -value
    return Reading(said[MarkKind.QUANTITY], value, said[MarkKind.UNIT], correction, first_word, end_word)


def random_words(node: Node, rng: random.Random) -> list[str]:
    """Return a random phrase of a part."""
    match node:
        case Word(text):
            return [text]
        case Seq(parts):
            return [word for part in parts for word in random_words(part, rng)]
        case Choice(options):
            return random_words(rng.choice(options), rng)
        case Loop(part):
            return [word for _ in range(rng.choice((1, 1, 2))) for word in random_words(part, rng)]
        case Rule(_, part):
            return random_words(part, rng)
    return []


def spoilt(words: list[str], vocabulary: Sequence[str], rng: random.Random) -> list[str]:
    """Return words with one swapped for another, dropped, doubled, put in, or all cut short."""
    at = rng.randrange(len(words))
    return rng.choice(
        (
            [*words[:at], rng.choice(vocabulary), *words[at + 1 :]],
            [*words[:at], *words[at + 1 :]],
            [*words[: at + 1], *words[at:]],
            [*words[:at], rng.choice(vocabulary), *words[at:]],
            words[:at],
        )
    )


def exactly(meanings: Sequence[Meaning]) -> list[str]:
    """Return meanings with all that `==` passes over: the words of each part, and 63.0 unlike 63."""
    return [repr(meaning) for meaning in meanings]


@pytest.fixture(scope="module", params=["", "checkpoint"])
def either(request: pytest.FixtureRequest) -> tuple[Language, PlainMatcher]:
    """Make a language, in open mode and not, and the plain matcher of it."""
    language = OPEN_LANGUAGE if not request.param else LANGUAGE
    return language, PlainMatcher(language.phrasebook.phrase())


def test_a_clock_time_without_its_half_has_two_meanings() -> None:
    """It is 7:40 and 19:40: 460 and 1180 minutes after midnight."""
    values = {meaning.readings[0].value for meaning in LANGUAGE.meanings("checkpoint time seven forty")}

    assert {Decimal(460), Decimal(1180)} == values


def test_each_part_knows_its_words() -> None:
    """First and end word of each part, the lead word belonging to none."""
    (meaning,) = LANGUAGE.meanings("checkpoint six percent note rain")

    assert [(1, 3), (3, 5)] == [(part.first_word, part.end_word) for part in meaning.parts]
    assert Command(CommandKind.NOTE, "rain") == meaning.parts[1]


def test_a_correction_marks_its_readings_only() -> None:
    """A checkpoint after a correction in one breath is no correction."""
    (meaning,) = LANGUAGE.meanings("correction six percent checkpoint nine percent")

    assert [True, False] == [part.correction for part in meaning.parts if isinstance(part, Reading)]


def test_words_outside_give_nothing() -> None:
    """Never a guess."""
    assert () == LANGUAGE.meanings("checkpoint sixty elephants percent")
    assert () == LANGUAGE.meanings("")
    assert () == LANGUAGE.meanings("checkpoint sixty")


def test_calls_mean_what_the_plain_matcher_finds(either: tuple[Language, PlainMatcher]) -> None:
    """Calls as drivers say them, several in one breath too, whole and spoilt: same meanings, order and words."""
    language, plain = either
    rng = random.Random(1)
    vocabulary = sorted(language.vocabulary)
    said = [call.text.split() for call in calls(200, 1, lead=language.phrasebook.lead, command_share=0.2)]
    for words in said:
        for heard in (words, words + rng.choice(said), spoilt(words, vocabulary, rng)):
            assert exactly(plain.match(heard)) == exactly(language.meanings(heard)), heard


@pytest.mark.parametrize(
    ("phrase", "count"),
    [
        ("checkpoint time seven forty", 2),
        ("checkpoint ninety four percent odometer seventy nine forty six miles", 6),
        ("correction time three fifty five checkpoint correction clock two", 4),
        ("how far checkpoint odometer seven twelve thirteen kilometers seven o'clock a m", 2),
        ("say again checkpoint odometer five five five one kilometers note rain checkpoint strike that", 4),
    ],
)
def test_ambiguous_phrases_keep_all_their_meanings(phrase: str, count: int) -> None:
    """Numbers that can be cut in several ways, clock times without their half, leads before whatever follows."""
    meanings = LANGUAGE.meanings(phrase)

    assert count == len(meanings)
    assert exactly(PlainMatcher(LANGUAGE.phrasebook.phrase()).match(phrase.split())) == exactly(meanings)


def test_any_phrase_means_what_the_plain_matcher_finds(either: tuple[Language, PlainMatcher]) -> None:
    """Phrases drawn from all that the language takes, however odd, whole and spoilt."""
    language, plain = either
    rng = random.Random(2)
    vocabulary = sorted(language.vocabulary)
    for _ in range(200):
        words = random_words(language.phrasebook.phrase(), rng)
        assert language.meanings(words), words
        for heard in (words, spoilt(words, vocabulary, rng), spoilt(words + words, vocabulary, rng)):
            assert exactly(plain.match(heard)) == exactly(language.meanings(heard)), heard


def test_what_was_asked_before_makes_no_difference() -> None:
    """What a matcher remembers of other phrases changes nothing, in whatever order they came."""
    said = [call.text.split() for call in calls(100, 3, command_share=0.2)]
    expected = {" ".join(words): exactly(LANGUAGE.meanings(words)) for words in said}
    other = Matcher(Network(LANGUAGE.phrasebook.phrase()))

    for words in sorted(said, reverse=True) * 2:
        assert expected[" ".join(words)] == exactly(other.match(words))


def ambiguous(*spoken: Node) -> Node:
    """Return a number of ones, each of which may be any of `spoken`."""
    marks = (Mark(MarkKind.QUANTITY, "n"), Mark(MarkKind.UNIT, "u"))
    return seq(Mark(MarkKind.START), Loop(choice(*spoken)), *marks)


def test_ways_that_say_the_same_count_once() -> None:
    """Of three ways to say each word two mark the same: 2 x 2 x 2 meanings, not 27."""
    node = ambiguous(seq("one", digits("1")), seq("one", digits("1")), seq("one", digits("2")))
    meanings = Matcher(Network(node)).match(["one"] * 3)

    assert 8 == len(meanings)
    assert exactly(PlainMatcher(node).match(["one"] * 3)) == exactly(meanings)


def test_one_meaning_by_two_cuts_is_given_once() -> None:
    """Where the marks stand may differ and the meaning not."""
    node = ambiguous(seq("one", digits("1")), seq(digits("1"), "one"))

    (meaning,) = Matcher(Network(node)).match(["one"] * 3)
    assert Decimal(111) == meaning.readings[0].value


def test_meanings_beyond_number_are_bounded() -> None:
    """Two ways to say each of twenty words would be a million meanings."""
    node = ambiguous(seq("one", digits("1")), seq("one", digits("2")))

    assert MOST_TRAILS == len(Matcher(Network(node)).match(["one"] * 20))


def test_words_outside_leave_nothing_behind() -> None:
    """However many different words of no use are heard, the matcher does not grow."""
    LANGUAGE.meanings("checkpoint sixty elephants")
    tracemalloc.start()
    try:
        for number in range(2000):
            assert () == LANGUAGE.meanings(["checkpoint", "sixty", f"elephants{number}"])
            assert () == LANGUAGE.meanings([f"elephants{number}"])
        grown, _ = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert grown < 20_000
