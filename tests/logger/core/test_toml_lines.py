"""Lines of keys."""

from __future__ import annotations

from logger.core.toml_lines import line_of_key


def test_keys_are_found_in_tables_and_dotted() -> None:
    """Headers, dotted keys, and the nearest parent for what stands inside a value."""
    text = "a = 1\n[b.c]\nd = 2\n[e]\nf.g = 3\nh = {i = 4}\n"

    assert 1 == line_of_key(text, ("a",))
    assert 3 == line_of_key(text, ("b", "c", "d"))
    assert 5 == line_of_key(text, ("e", "f", "g"))
    assert 6 == line_of_key(text, ("e", "h", "i"))
    assert line_of_key(text, ("z",)) is None
