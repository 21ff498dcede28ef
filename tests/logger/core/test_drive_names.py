"""Names of drives: safe in a path, never taken for a number or a date, unique."""

from __future__ import annotations

from itertools import islice

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.core.drive_names import numbered, safe_name, unique_names


@pytest.mark.parametrize(
    ("folder", "name"),
    [
        ("loop-1", "loop-1"),
        ("my drive", "my-drive"),
        ("Küste", "Küste"),
        ("a=b/c%d", "a-b-c-d"),
        ("2031-05-03", "drive-2031-05-03"),
        ("12", "drive-12"),
        ("NaN", "drive-NaN"),
        ("..", "drive-.."),
        ("", "drive"),
    ],
)
def test_names(folder: str, name: str) -> None:
    """What stays, what is put in place of what cannot stay, and what is put in front."""
    assert name == safe_name(folder)


@given(st.lists(st.text(max_size=6), max_size=8))
def test_no_two_are_alike(folders: list[str]) -> None:
    """Whatever the folders are called, names differ in more than capitals, and begin with a letter."""
    names = unique_names(folders)

    assert len(folders) == len({name.casefold() for name in names})
    assert all(name[0].isalpha() and not set(name) & set("/= %\\:") for name in names)


def test_the_first_keeps_its_name() -> None:
    """The second of a name gets -2, also where it differs in capitals alone, unless that is taken."""
    assert ("a", "A-2", "a-3", "a-2-2") == unique_names(["a", "A", "a", "a-2"])
    assert ["x", "x-2", "x-3"] == list(islice(numbered("x"), 3))
