"""Every number in every style is understood as exactly that number.

Outside: num2words writes the cardinals, text2num reads them back. The other styles are stated in the test
kit's `speechkit.numbers`, which knows nothing of `grammar`. Numbers in the styles of NeMo's inverse text
normalisation data (check-values.md, section 5) are checked by value.
"""

from __future__ import annotations

import random
from decimal import Decimal

import pytest
from num2words import num2words
from speechkit.numbers import Style, spoken, styles_of
from text_to_num import alpha2digit

from grammar import GrammarError, Language, Phrasebook
from grammar.match import Matcher
from grammar.network import Network
from grammar.nodes import Mark, MarkKind, seq
from grammar.numbers import NumberShape, spoken_number

LANGUAGE = Language(Phrasebook())


def values_of(phrase: str, quantity: str) -> set[Decimal]:
    """What a phrase may mean, of meanings that are one reading of a quantity."""
    meanings = LANGUAGE.meanings(phrase)
    return {
        meaning.readings[0].value
        for meaning in meanings
        if len(meaning.parts) == 1 and meaning.readings[0].quantity == quantity
    }


def numbers(text: str, shape: NumberShape) -> set[Decimal]:
    """What a bare number may mean in a shape."""
    marks = (Mark(MarkKind.QUANTITY, "n"), Mark(MarkKind.UNIT, "u"))
    node = seq(Mark(MarkKind.START), spoken_number(shape), *marks)
    return {meaning.readings[0].value for meaning in Matcher(Network(node)).match(text.split())}


def written(value: Decimal) -> str:
    """A value with the decimals it has, so that 63.0 and 63 differ."""
    return format(value, "f")


def check_every_style(value: Decimal, quantity: str, unit: str, rng: random.Random) -> set[Style]:
    """Say a value in each of its styles and hold what is understood against it."""
    for style in styles_of(value):
        phrase = f"checkpoint {spoken(value, style, rng)} {unit}"
        assert {written(value)} == {written(found) for found in values_of(phrase, quantity)}, phrase
    return set(styles_of(value))


def test_every_charge_in_every_style() -> None:
    """0 to 100 percent: exactly that charge, and no other."""
    rng = random.Random(1)
    seen: set[Style] = set()
    for charge in range(101):
        seen |= check_every_style(Decimal(charge), "charge", "percent", rng)

    assert {Style.CARDINAL, Style.A_HUNDRED, Style.DIGITS} == seen


@pytest.mark.parametrize("hundreds", range(10))
def test_every_trip_in_every_style(hundreds: int) -> None:
    """0.0 to 999.9 miles, all 10,000: exactly that trip, with its decimal as said, and no other."""
    rng = random.Random(hundreds)
    seen: set[Style] = set()
    for tenths in range(hundreds * 1000, hundreds * 1000 + 1000):
        seen |= check_every_style(Decimal(tenths).scaleb(-1), "trip", "miles", rng)

    assert {Style.CARDINAL, Style.DIGITS, Style.HALF} <= seen
    assert (hundreds == 1) == (Style.A_HUNDRED in seen)
    assert (hundreds > 0) == (Style.PAIRED in seen)


@pytest.mark.parametrize("zero", ["oh", "zero"])
def test_every_trip_digit_by_digit_with_either_zero(zero: str) -> None:
    """Each whole trip of 10 to 999 said digit by digit, and then "point" and that zero."""
    for whole in range(10, 1000):
        said = " ".join(zero if d == "0" else num2words(int(d)) for d in str(whole))
        phrase = f"checkpoint {said} point {zero} miles"
        assert {f"{whole}.0"} == {written(v) for v in values_of(phrase, "trip")}, phrase


def test_cardinals_agree_with_text2num() -> None:
    """A seeded sample of trips, said as num2words says them, is read alike by text2num and by us."""
    rng = random.Random(2)
    for tenths in rng.sample(range(10_000), 400):
        value = Decimal(tenths).scaleb(-1)
        words = f"{num2words(int(value))} point {num2words(tenths % 10)}".replace("-", " ")
        outside = Decimal(alpha2digit(words, "en"))

        assert {outside} == values_of(f"checkpoint {words} miles", "trip"), words


def test_odometers_in_every_style() -> None:
    """A seeded sample of odometers of one to six digits; a paired one may mean others too, but means it."""
    rng = random.Random(3)
    for digits in range(1, 7):
        for whole in rng.sample(range(10 ** (digits - 1), 10**digits), 9 if digits == 1 else 60):
            for style in styles_of(Decimal(whole)):
                phrase = f"checkpoint odometer {spoken(Decimal(whole), style, rng)}"
                assert Decimal(whole) in values_of(phrase, "odometer"), phrase


@pytest.mark.parametrize(
    ("words", "value"),
    [
        # Styles of NeMo's decimal and cardinal cases, check-values.md section 5.
        ("nineteen point oh seven", "19.07"),
        ("nineteen point seven oh", "19.70"),
        ("zero point three eight", "0.38"),
        ("minus seventy", "-70"),
        ("seventy point four", "70.4"),
        ("nine hundred sixteen point two oh two", "916.202"),
        ("three hundred and sixty one", "361"),
        # Ours, design.md section 2.
        ("two hundred and seven", "207"),
        ("two oh seven", "207"),
        ("two zero seven", "207"),
        ("one fifty three point six", "153.6"),
        ("a hundred", "100"),
        ("three point oh five", "3.05"),
        ("oh point five", "0.5"),
        ("sixty three and a half", "63.5"),
        ("half a", "0.5"),
        ("negative four point five", "-4.5"),
    ],
)
def test_a_number_is_what_was_said(words: str, value: str) -> None:
    """Each style has its one value, decimals kept as said."""
    assert {value} == {written(v) for v in numbers(words, NumberShape(999, 3, signed=True))}


@pytest.mark.parametrize(
    ("words", "values"),
    [
        ("twelve thousand four twenty one", {"12421"}),
        ("twelve four twenty one", {"12421"}),
        ("twelve hundred", {"1200"}),
        ("thirteen fifteen", {"1315"}),
        ("two thousand and five", {"2005"}),
        ("a thousand", {"1000"}),
        ("one hundred twenty three thousand four hundred fifty six", {"123456"}),
    ],
)
def test_long_numbers(words: str, values: set[str]) -> None:
    """Odometer styles, inflect's group=2 form among them (check-values.md section 5)."""
    assert values == {written(v) for v in numbers(words, NumberShape(999_999, 0, signed=False))}


@pytest.mark.parametrize(
    "words",
    [
        "",
        "oh",
        "point five",
        "sixty three point",
        "five point one two",
        "twenty ten",
        "two hundred and",
        "and seven",
        "hundred",
        "twenty zero",
        "two hundred and a half and",
        "minus four",
        "a",
        "one thousand",
    ],
)
def test_what_is_no_number_has_no_value(words: str) -> None:
    """Halves of numbers, too many decimals, signs and sizes the dash cannot show: nothing, never a guess."""
    assert set() == numbers(words, NumberShape(999, 1, signed=False))


def test_up_to_a_hundred_stops_there() -> None:
    """A shape of 100 takes 100 and nothing above."""
    shape = NumberShape.up_to(100)

    assert {Decimal(100)} == numbers("one hundred", shape) == numbers("one oh zero", shape)
    assert set() == numbers("one hundred and one", shape) == numbers("one oh one", shape)


@pytest.mark.parametrize(
    ("highest", "shown"), [(0, 9), (9, 9), (10, 99), (100, 100), (420, 999), (999_999, 999_999)]
)
def test_the_smallest_shape_that_holds_a_number(highest: int, shown: int) -> None:
    """`up_to` rounds up to a row of nines, but for 100."""
    assert shown == NumberShape.up_to(highest).highest


def test_shapes_out_of_bounds_are_refused() -> None:
    """A bound that is no row of nines, too many decimals, too many digits."""
    with pytest.raises(GrammarError, match="row of nines"):
        NumberShape(420, 0, signed=False)
    with pytest.raises(GrammarError, match="decimals must be 0 to 3, not 4"):
        NumberShape(99, 4, signed=False)
    with pytest.raises(GrammarError, match="the most is 999999"):
        NumberShape.up_to(1_000_000)
    with pytest.raises(GrammarError, match="cannot be spoken"):
        NumberShape.up_to(-1)
