"""What may be called out on a drive, and what it means. No I/O; standard library only."""

from grammar.automaton import Automaton
from grammar.card import card
from grammar.confusions import Confusion, confusions
from grammar.errors import GrammarError
from grammar.language import Language
from grammar.likelihood import arc_log_likelihoods
from grammar.phrasebook import DEFAULT_LEAD, Phrasebook
from grammar.quantities import NOTE_KINDS, UNITS, UnitSystem, default_quantities
from grammar.readings import Command, CommandKind, Meaning, Quantity, Reading, Unit
from grammar.saying import number_words, ways_to_say, ways_to_say_time
from grammar.written import Written, written_words

__all__ = [
    "DEFAULT_LEAD",
    "NOTE_KINDS",
    "UNITS",
    "Automaton",
    "Command",
    "CommandKind",
    "Confusion",
    "GrammarError",
    "Language",
    "Meaning",
    "Phrasebook",
    "Quantity",
    "Reading",
    "Unit",
    "UnitSystem",
    "Written",
    "arc_log_likelihoods",
    "card",
    "confusions",
    "default_quantities",
    "number_words",
    "ways_to_say",
    "ways_to_say_time",
    "written_words",
]
