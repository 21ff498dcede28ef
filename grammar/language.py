"""One phrasebook made ready for use: parse, automaton, phrase list and JSGF, each worked out when first asked for."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from functools import cache, cached_property

from grammar.automaton import Automaton, minimal_automaton
from grammar.compile import to_jsgf, to_phrase_list
from grammar.match import Matcher
from grammar.network import Network
from grammar.phrasebook import Phrasebook
from grammar.readings import Meaning
from grammar.spelling import spoken_words


class Language:
    """The call-out language of one phrasebook.

    >>> Language(Phrasebook()).meanings("checkpoint sixty three percent")[0].readings[0].value
    Decimal('63')
    """

    def __init__(self, phrasebook: Phrasebook) -> None:
        self.phrasebook = phrasebook
        self._node = phrasebook.phrase()
        self._network = Network(self._node)
        self._match = Matcher(self._network).match

    def meanings(self, words: str | Sequence[str]) -> tuple[Meaning, ...]:
        """Return every meaning of a phrase; none when it is outside the language. Never raises for words.

        A text is first put into spoken words (`spelling.spoken_words`); a sequence is taken as it is.
        """
        return self._match(spoken_words(words) if isinstance(words, str) else tuple(words))

    def remembering(self) -> Language:
        """Return the same language, which remembers all it is asked.

        For a few phrases that are asked again and again; let go of it then, for it grows with them.
        """
        again = copy(self)
        again._match = cache(self._match)  # noqa: SLF001 (its own)
        return again

    @cached_property
    def automaton(self) -> Automaton:
        """The minimal automaton of the language."""
        return minimal_automaton(self._network)

    @cached_property
    def reading_automaton(self) -> Automaton:
        """The minimal automaton of one reading alone: no lead word, no command."""
        return minimal_automaton(Network(self.phrasebook.reading()))

    @property
    def vocabulary(self) -> frozenset[str]:
        """Every word that may be spoken."""
        return frozenset(word for arcs in self._network.word_arcs for word, _ in arcs)

    def phrase_list(self) -> tuple[str, ...]:
        """Return the phrases that teach a bigram recogniser the language."""
        return to_phrase_list(self.automaton)

    def jsgf(self) -> str:
        """Return the language as JSGF text."""
        return to_jsgf(self._node)
