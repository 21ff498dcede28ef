"""Every way to say a number, as parts that emit the number's digits in the order they are written.

| said | emits |
|---|---|
| two hundred and seven | `2` `07` |
| two oh seven | `2` `0` `7` |
| one fifty three point six | `1` `5` `3` `.` `6` |
| one five three point eight | `1` `5` `3` `.` `8` |
| a hundred | `1` `00` |
| three point oh five | `3` `.` `0` `5` |
| twelve thousand four twenty one | `12` `4` `2` `1` |
| sixty three and a half | `6` `3` `.5` |
| half a | `0.5` |

Emitted characters keep the decimals as they were said: "sixty three point zero" is `63.0`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from grammar.errors import GrammarError
from grammar.nodes import NOTHING, Choice, Mark, MarkKind, Node, Rule, Word, choice, digits, maybe, seq
from grammar.words import ONES, TEENS, TENS, ZEROS

MOST_WHOLE_DIGITS = 6
"""An odometer's: the longest number anybody reads from a dash."""


@dataclass(frozen=True, slots=True)
class NumberShape:
    """Which numbers may be spoken: whole parts 0 to `highest`, up to `places` decimals, below zero if `signed`.

    `highest` is 100 or a row of nines (9, 99, ... 999999): what the *dash* can show, not what is plausible.
    """

    highest: int
    places: int
    signed: bool

    def __post_init__(self) -> None:
        """Check the bounds; raises GrammarError."""
        if self.highest != 100 and self.highest not in {10**n - 1 for n in range(1, MOST_WHOLE_DIGITS + 1)}:
            raise GrammarError(f"the highest whole number must be 100 or a row of nines, not {self.highest}")
        if not 0 <= self.places <= 3:
            raise GrammarError(f"decimals must be 0 to 3, not {self.places}")

    @classmethod
    def up_to(cls, highest: int, places: int = 0, *, signed: bool = False) -> NumberShape:
        """Return the smallest shape in which `highest` can be said.

        >>> NumberShape.up_to(420).highest
        999
        """
        if highest == 100:
            return cls(100, places, signed)
        if not 0 <= highest < 10**MOST_WHOLE_DIGITS:
            raise GrammarError(f"numbers up to {highest} cannot be spoken here; the most is 999999")
        return cls(10 ** len(str(highest)) - 1, places, signed)


def _table(words: dict[str, str], prefix: str = "") -> Node:
    return Choice(tuple(seq(Word(word), digits(prefix + text)) for word, text in words.items()))


ONE_TO_NINE: Node = Rule("one_to_nine", _table(ONES))
ZERO_AS_DIGIT: Node = Choice(tuple(seq(Word(word), digits("0")) for word in ZEROS))
DIGIT: Node = Rule("digit", Choice((ONE_TO_NINE, ZERO_AS_DIGIT)))
_TEN_TO_NINETEEN = _table(TEENS)
_TENS = _table(TENS)
TEN_TO_99: Node = Rule(
    "ten_to_99",
    Choice((_TEN_TO_NINETEEN, seq(_TENS, Choice((ONE_TO_NINE, digits("0")))))),
)
# "twenty hundred" is nobody's way to say two thousand; "twelve hundred" and "twenty five hundred" are.
_HUNDREDS_COUNT = Choice(
    (_table({word: text for word, text in TEENS.items() if word != "ten"}), seq(_TENS, ONE_TO_NINE))
)
_TWO_DIGITS_AFTER_HUNDRED = Choice((TEN_TO_99, _table(ONES, prefix="0")))
_AFTER_HUNDRED = Rule(
    "after_hundred",
    Choice((seq(maybe("and"), _TWO_DIGITS_AFTER_HUNDRED), digits("00"))),
)
_ONE_TO_NINE_OR_A = Choice((ONE_TO_NINE, seq("a", digits("1"))))
_HUNDREDS = Rule("hundreds", seq(_ONE_TO_NINE_OR_A, "hundred", _AFTER_HUNDRED))
_PAIRED_3 = seq(ONE_TO_NINE, TEN_TO_99)
_AFTER_THOUSAND = Rule(
    "after_thousand",
    Choice(
        (
            _HUNDREDS,
            seq(maybe("and"), digits("0"), _TWO_DIGITS_AFTER_HUNDRED),
            _PAIRED_3,
            seq(ONE_TO_NINE, DIGIT, DIGIT),
            digits("000"),
        )
    ),
)


def _digit_by_digit(count: int) -> Node:
    return seq(ONE_TO_NINE, *([DIGIT] * (count - 1)))


def _thousands(count: Node) -> Node:
    return seq(count, "thousand", _AFTER_THOUSAND)


@cache
def _whole_of_digits(count: int) -> Node:
    """Return every way to say a whole number of exactly `count` written digits."""
    by_digit = _digit_by_digit(count)
    oh_pair = seq("oh", digits("0"), ONE_TO_NINE)
    pair = Choice((TEN_TO_99, oh_pair))
    match count:
        case 1:
            return Choice((seq("zero", digits("0")), ONE_TO_NINE))
        case 2:
            return Choice((TEN_TO_99, by_digit))
        case 3:
            return Choice((_HUNDREDS, _PAIRED_3, by_digit))
        case 4:
            hundreds = seq(_HUNDREDS_COUNT, "hundred", _AFTER_HUNDRED)
            return Choice((_thousands(_ONE_TO_NINE_OR_A), hundreds, seq(TEN_TO_99, pair), by_digit))
        case 5:
            paired = Choice(
                (
                    seq(TEN_TO_99, ONE_TO_NINE, TEN_TO_99),
                    seq(TEN_TO_99, "oh", digits("0"), TEN_TO_99),
                    seq(TEN_TO_99, ONE_TO_NINE, DIGIT, DIGIT),
                    seq(ONE_TO_NINE, TEN_TO_99, TEN_TO_99),
                )
            )
            return Choice((_thousands(TEN_TO_99), paired, by_digit))
        case 6:
            paired = Choice(
                (
                    seq(TEN_TO_99, pair, pair),
                    seq(_PAIRED_3, _PAIRED_3),
                    seq(_PAIRED_3, ONE_TO_NINE, DIGIT, DIGIT),
                )
            )
            return Choice((_thousands(Choice((_HUNDREDS, _PAIRED_3))), paired, by_digit))
    raise GrammarError(f"whole numbers of {count} digits cannot be spoken here")


def _whole(highest: int) -> Node:
    if highest == 100:
        hundred = Choice(
            (
                seq(Choice((seq("one", digits("1")), seq("a", digits("1")))), "hundred", digits("00")),
                seq("one", digits("1"), ZERO_AS_DIGIT, ZERO_AS_DIGIT),
            )
        )
        return Choice((_whole_of_digits(1), _whole_of_digits(2), hundred))
    return Choice(tuple(_whole_of_digits(n) for n in range(1, len(str(highest)) + 1)))


@cache
def spoken_number(shape: NumberShape) -> Node:
    """Return every way to say a number of this shape, as a named rule."""
    whole = _whole(shape.highest)
    if shape.places:
        point = seq("point", digits("."))
        decimals = Choice(tuple(seq(*([DIGIT] * n)) for n in range(1, shape.places + 1)))
        half = seq("and a half", digits(".5"))
        number: Node = Choice(
            (
                seq(whole, Choice((seq(point, decimals), half, NOTHING))),
                # "oh" alone is no number, but "oh point five" is
                seq("oh", digits("0"), point, decimals),
                seq("half a", digits("0.5")),
            )
        )
    else:
        number = whole
    if shape.signed:
        negative = Mark(MarkKind.NEGATIVE)
        number = Choice((number, seq(choice("minus", "negative"), negative, number)))
    sign = "_signed" if shape.signed else ""
    return Rule(f"number_to_{shape.highest}_places_{shape.places}{sign}", number)
