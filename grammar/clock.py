"""Every way to say a time of day.

| said | hour, minute, half of the day |
|---|---|
| seven forty a m | 7 40 am |
| seven forty | 7 40 am, and 7 40 pm: both are kept |
| seven oh five p m | 7 05 pm |
| seven o'clock | 7 00 am, and 7 00 pm |
| half past seven | 7 30 am, and 7 30 pm |
| quarter to eight | 8 -15 am, and 8 -15 pm |
| seventeen forty | 17 40 |
| oh seven forty, zero seven forty | 7 40 (a leading zero says: the 24-hour clock) |
| seventeen hundred | 17 00 |
"""

from __future__ import annotations

from functools import cache

from grammar.nodes import Choice, Mark, MarkKind, Node, Rule, Word, choice, seq
from grammar.words import ONES, TEENS, TENS, ZEROS


def _hour(text: str) -> Mark:
    return Mark(MarkKind.HOUR, text)


def _minute(text: str) -> Mark:
    return Mark(MarkKind.MINUTE, text)


def _minutes() -> Node:
    """Return the minutes 01 to 59 as they follow a spoken hour: "oh five", "forty", "forty two"."""
    options: list[Node] = [
        *(seq("oh", Word(word), _minute(digit)) for word, digit in ONES.items()),
        *(seq(Word(word), _minute(text)) for word, text in TEENS.items()),
    ]
    for word, tens in TENS.items():
        if int(tens) < 6:
            options.append(seq(Word(word), _minute(tens + "0")))
            options.extend(seq(Word(word), Word(one), _minute(tens + digit)) for one, digit in ONES.items())
    return Rule("minutes", Choice(tuple(options)))


def _hours_1_to_12() -> Node:
    words = {**ONES, **{word: text for word, text in TEENS.items() if int(text) <= 12}}
    return Rule("hour_1_to_12", Choice(tuple(seq(Word(word), _hour(text)) for word, text in words.items())))


def _hours_24() -> Node:
    """Return the hours that need no half of the day: 00 to 09 with their zero, and 13 to 23."""
    options: list[Node] = [seq(choice(*ZEROS), Word(word), _hour(text)) for word, text in ONES.items()]
    options.append(seq(choice(*ZEROS), choice(*ZEROS), _hour("0")))
    options.extend(seq(Word(word), _hour(text)) for word, text in TEENS.items() if int(text) > 12)
    options.append(seq("twenty", _hour("20")))
    options.extend(seq("twenty", word, _hour("2" + ONES[word])) for word in ("one", "two", "three"))
    return Rule("hour_24", Choice(tuple(options)))


@cache
def spoken_clock_time(*, said_half_of_day: bool) -> Node:
    """Return every way to say a time of day.

    With `said_half_of_day` only those that "a m", "p m" or "o'clock" marks as a time without a keyword.
    """
    am, pm, whole_day = (Mark(MarkKind.HALF_DAY, text) for text in ("am", "pm", "24"))
    twelve, minutes = _hours_1_to_12(), _minutes()
    said = Choice((seq("a m", am), seq("p m", pm)))
    either = Choice((am, pm))
    full_hour = seq("o'clock", _minute("00"))
    past = choice(
        seq("half past", twelve, _minute("30")),
        seq("quarter past", twelve, _minute("15")),
        seq("quarter to", twelve, _minute("-15")),
    )
    if said_half_of_day:
        on_the_hour = Choice((seq(full_hour, Choice((said, either))), seq(_minute("00"), said)))
        clock = Choice((seq(twelve, Choice((seq(minutes, said), on_the_hour))), seq(past, said)))
        return Rule("clock_time_said_half", clock)
    half = Choice((said, either))
    on_the_hour = Choice((full_hour, _minute("00")))
    day = seq(_hours_24(), Choice((minutes, seq("hundred", _minute("00")))), whole_day)
    clock = Choice((seq(twelve, Choice((minutes, on_the_hour)), half), seq(past, half), day))
    return Rule("clock_time", clock)
