"""The parts phrases are built from."""

from __future__ import annotations

from grammar.nodes import Choice, Seq, Word, choice, maybe, seq


def test_strings_stand_for_their_words() -> None:
    """Sequences are flat and single parts stay themselves."""
    assert Seq((Word("how"), Word("far"), Word("now"))) == seq(seq("how far"), "now")
    assert Word("one") == seq("one") == choice("one")
    assert Choice((Word("a"), Seq(()))) == maybe("a")
