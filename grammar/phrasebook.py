"""The whole call-out language as one part, built from quantities, a lead word and note kinds.

    phrase     = one or more of: call, correction, note, strike that, say again, how far
    call       = lead word, then one or more readings in any order
    correction = "correction", then one or more readings
    reading    = [keyword] number [unit], as each quantity allows

In open mode (an empty lead word) a call is just its readings.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from grammar.clock import spoken_clock_time
from grammar.errors import GrammarError
from grammar.nodes import NOTHING, Choice, Loop, Mark, MarkKind, Node, Rule, choice, maybe, seq
from grammar.numbers import NumberShape, spoken_number
from grammar.quantities import NOTE_KINDS, PLAIN_DEGREES, default_quantities
from grammar.readings import CommandKind, Quantity, Unit

# Efficiencies in different units have numbers of different shapes: (highest whole, decimals).
_SHAPE_OF_UNIT = {
    "mi/kWh": (9, 2),
    "km/kWh": (99, 2),
    "kWh/100km": (99, 1),
    "Wh/mi": (999, 0),
    "Wh/km": (999, 0),
}
DEFAULT_LEAD = "checkpoint"


@dataclass(frozen=True, slots=True)
class Phrasebook:
    """What may be called out, checked.

    Attributes:
        quantities: the quantities that may be read, in the order of the call-out card.
        lead: the word that begins a call; "" for open mode.
        notes: the kinds of note.

    Raises:
        GrammarError: two quantities would be said the same way, or a word is no plain lower-case word.
    """

    quantities: tuple[Quantity, ...] = field(default_factory=default_quantities)
    lead: str = DEFAULT_LEAD
    notes: tuple[str, ...] = NOTE_KINDS

    def __post_init__(self) -> None:
        """Check that every phrase can be spoken and belongs to one quantity only."""
        if not self.quantities:
            raise GrammarError("a phrasebook needs at least one quantity")
        _check_words((self.lead,) if self.lead else ())
        _check_words(self.notes)
        said: dict[str, str] = {}
        for quantity in self.quantities:
            _check_words(quantity.keywords)
            _check_words(quantity.after)
            for unit in quantity.units:
                _check_words(unit.phrases)
            for example in _ways_to_tell(quantity):
                other = said.setdefault(example, quantity.name)
                if other != quantity.name:
                    raise GrammarError(f"{quantity.name} and {other} would both be said '{example}'")
        names = [quantity.name for quantity in self.quantities]
        for name in names:
            if names.count(name) > 1:
                raise GrammarError(f"quantity {name} is given twice")

    def quantity(self, name: str) -> Quantity:
        """Return the quantity of that name; raises KeyError."""
        for quantity in self.quantities:
            if quantity.name == name:
                return quantity
        raise KeyError(name)

    def reading(self) -> Node:
        """Return one reading, of any quantity."""
        return Rule("reading", Choice(tuple(_reading(quantity) for quantity in self.quantities)))

    def phrase(self) -> Node:
        """Return everything that may be said in one breath."""
        start = Mark(MarkKind.START)
        readings = Loop(self.reading())
        call = seq(Mark(MarkKind.CHECKPOINT), self.lead, readings)
        correction = seq(Mark(MarkKind.CORRECTION), "correction", readings)
        kinds = Choice(tuple(seq(kind, Mark(MarkKind.NOTE, kind)) for kind in self.notes))
        asks = choice(
            seq("strike that", Mark(MarkKind.COMMAND, CommandKind.STRIKE)),
            seq("say again", Mark(MarkKind.COMMAND, CommandKind.SAY_AGAIN)),
            seq("how far", Mark(MarkKind.COMMAND, CommandKind.HOW_FAR)),
        )
        if self.notes:
            asks = Choice((asks, seq("note", Rule("note_kind", kinds))))
        # The lead word is allowed, not needed, before what is no reading: people say it out of habit.
        lead = maybe(self.lead) if self.lead else NOTHING
        command = Rule("command", seq(start, lead, asks))
        return Rule(
            "phrase",
            Loop(Choice((Rule("call", call), Rule("correction", seq(lead, correction)), command))),
        )


def _check_words(phrases: tuple[str, ...]) -> None:
    for phrase in phrases:
        words = phrase.split()
        if not words or phrase != " ".join(words) or not all(w.replace("'", "").isalpha() for w in words):
            raise GrammarError(f"'{phrase}' is no phrase of plain words")
        if phrase != phrase.lower():
            raise GrammarError(f"'{phrase}' must be in lower case")


def _ways_to_tell(quantity: Quantity) -> list[str]:
    """Return what tells the quantity apart, one string per way, with N for the number."""
    ways: list[str] = []
    units = [phrase for unit in quantity.units for phrase in unit.phrases]
    if quantity.clock:
        return [f"{keyword} N" for keyword in quantity.keywords]
    after = [f" {tail}" for tail in quantity.after] or [""]
    if quantity.bare:
        ways += [f"N {unit}{tail}" for unit in units for tail in after]
    for keyword in quantity.keywords:
        ways += [f"{keyword} N {unit}" for unit in units]
        if not quantity.unit_needed:
            ways.append(f"{keyword} N")
    return ways


def _number(quantity: Quantity, unit: Unit) -> Node:
    highest, places = _SHAPE_OF_UNIT.get(unit.symbol, (quantity.highest, quantity.places))
    return spoken_number(
        NumberShape.up_to(
            min(highest, quantity.highest), min(places, quantity.places), signed=quantity.signed
        )
    )


def _reading(quantity: Quantity) -> Node:
    name = Mark(MarkKind.QUANTITY, quantity.name)
    start = Mark(MarkKind.START)
    if quantity.clock:
        unit_mark = Mark(MarkKind.UNIT, quantity.unit)
        keyed = seq(choice(*quantity.keywords), spoken_clock_time(said_half_of_day=False))
        bare = spoken_clock_time(said_half_of_day=True)
        return Rule(quantity.name, seq(start, Choice((keyed, bare)), name, unit_mark))
    ways: list[Node] = []
    for index, unit in enumerate(quantity.units):
        said = _said_unit(unit, sheets_own=index == 0)
        number = _number(quantity, unit)
        if quantity.bare:
            after = choice(*quantity.after) if quantity.after else NOTHING
            ways.append(seq(number, said, after))
        if quantity.keywords:
            keyword = choice(*quantity.keywords)
            ways.append(seq(keyword, number, said))
            if quantity.keyword_after:
                ways.append(seq(number, said, keyword))
            if index == 0 and not quantity.unit_needed:
                ways.append(seq(keyword, number, Mark(MarkKind.UNIT, unit.symbol)))
    return Rule(quantity.name, seq(start, Choice(tuple(ways)), name))


def _said_unit(unit: Unit, *, sheets_own: bool) -> Node:
    """Return the phrases that name a unit; plain "degrees" means the sheet's own."""
    phrases = list(unit.phrases)
    if sheets_own and unit.symbol.startswith("deg"):
        phrases.append(PLAIN_DEGREES)
        phrases.append(f"{PLAIN_DEGREES} below zero")
    options = []
    for phrase in phrases:
        below = Mark(MarkKind.NEGATIVE) if phrase.endswith("below zero") else NOTHING
        options.append(seq(phrase, below))
    return seq(Choice(tuple(options)), Mark(MarkKind.UNIT, unit.symbol))
