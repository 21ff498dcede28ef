"""Errors of a call-out language that cannot be built. What somebody says never raises."""


class GrammarError(Exception):
    """A phrasebook cannot be built: two phrases collide, or a number or a word is out of bounds."""
