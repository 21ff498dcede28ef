"""docs/sheet.md is true: its examples parse as it says, its mistakes give the lines it shows, no key is missing."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest

from grammar import Language, default_quantities
from logger.core import sheet
from logger.core.results.told import CLASSES, KNOWN
from logger.core.sheet import parse_sheet
from logger.core.way import LOOP_RESERVE_POINTS, OUT_AND_BACK_RESERVE_POINTS, Way
from logger.errors import SheetError

PAGE = (Path(__file__).resolve().parents[1] / "docs" / "sheet.md").read_text(encoding="utf-8")
EXAMPLE, *_ = re.findall(r"^```toml\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
MISTAKES = re.findall(r"^```toml\n([^`]*?)^```\n\n    (sheet\.toml:.*)$", PAGE, re.MULTILINE)


def test_the_example_is_read_as_the_page_says() -> None:
    """The page's example parses, and its language takes what the page says."""
    read = parse_sheet(EXAMPLE, "sheet.toml")
    names = [quantity.name for quantity in read.phrasebook.quantities]
    trip, efficiency = read.phrasebook.quantity("trip"), read.phrasebook.quantity("efficiency")

    assert ["charge", "trip", "range_left", "efficiency", "outside_temperature"] == names
    assert "mark" == read.phrasebook.lead
    assert ("km", Decimal(500)) == (trip.unit, trip.highest_plausible)
    assert ["kWh/100km"] == [unit.symbol for unit in efficiency.units]
    assert {"roundabout", "wet road", "headwind"} <= set(read.phrasebook.notes)
    assert 12296 == read.test["odometer_km"]
    assert Way(36_500.0, 8.0, start=(52.2004, 1.6991)) == read.way
    (meaning,) = Language(read.phrasebook).meanings(["mark", "distance", "ninety", "seven", "point", "two"])
    assert [("trip", Decimal("97.2"), "km")] == [(r.quantity, r.value, r.unit) for r in meaning.readings]


def test_the_example_has_every_key_but_the_other_of_a_pair() -> None:
    """Each key that a sheet may have is in the example, `open`, `display_highest` and `out_and_back` aside."""
    used = set(re.findall(r"^(\w+) =", EXAMPLE, re.MULTILINE)) | {"quantity", "loop", "test"}
    known = {*sheet._TOP_KEYS, *sheet._QUANTITY_KEYS, *sheet._LOOP_KEYS, *sheet._OUT_AND_BACK_KEYS}  # noqa: SLF001

    assert known - {"open", "display_highest", "out_and_back"} <= used


@pytest.mark.parametrize(
    ("heading", "keys"),
    [
        ("## The top of the sheet", sheet._TOP_KEYS),  # noqa: SLF001
        ("## `[quantity.NAME]`", sheet._QUANTITY_KEYS),  # noqa: SLF001
        ("## `[loop]` and `[out_and_back]`", sheet._LOOP_KEYS),  # noqa: SLF001
    ],
)
def test_every_key_has_a_row(heading: str, keys: tuple[str, ...]) -> None:
    """The tables of keys list those that the reader knows, and no others."""
    section = PAGE.split(f"{heading}\n")[1].split("\n## ")[0]

    assert sorted(keys) == sorted(re.findall(r"^\| `(\w+)` \|", section, re.MULTILINE))


def test_every_condition_that_counts_has_a_row() -> None:
    """Keys, limits in the base unit and meaning are those that results are computed from; the classes are named."""
    section = PAGE.split("## `[test]`\n")[1].split("\n## ")[0]
    told = re.findall(r"^\| (`.+?`) \| (\S+)[^|]* \| (\S+)[^|]* \| (.+) \|$", section, re.MULTILINE)
    expected = [
        (
            ", ".join(f"`{name}_{ending}`" if ending else f"`{name}`" for ending in known.units),
            f"{known.lowest:g}",
            f"{known.highest:g}",
            known.meaning,
        )
        for name, known in KNOWN.items()
    ]

    assert expected == told
    assert all(f'`"{each}"`' in section for each in CLASSES)


def test_every_quantity_is_named() -> None:
    """The page names each quantity that a sheet can change."""
    assert all(f"`{quantity.name}`" in PAGE for quantity in default_quantities())


@pytest.mark.parametrize(("text", "message"), MISTAKES)
def test_a_mistake_gives_the_line_shown(text: str, message: str) -> None:
    """Each mistake on the page is refused with the very line beneath it."""
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "sheet.toml")

    assert message == str(caught.value)


def test_the_mistakes_are_found() -> None:
    """The page has three mistakes, so the test above is not empty."""
    assert 3 == len(MISTAKES)


def test_what_the_page_says_in_passing() -> None:
    """Open with a lead word, a clock's decimals and another quantity's keyword are refused; no digits in words."""
    for text in (
        'lead = "mark"\nopen = true\n',
        "[quantity.clock]\ndecimals = 1\n",
        '[quantity.trip]\nkeywords = ["odometer"]\n',
        'notes = ["exit 9"]\n',
        'lead = "Mark"\n',
    ):
        with pytest.raises(SheetError):
            parse_sheet(text)
    page_defaults = [f'"{points:g} %"' for points in (LOOP_RESERVE_POINTS, OUT_AND_BACK_RESERVE_POINTS)]
    assert f"`{page_defaults[0]}` for a loop, `{page_defaults[1]}` for out and back" in PAGE
    assert parse_sheet("[out_and_back]\n").way is not None
    assert "" == parse_sheet("open = true\n").phrasebook.lead
    assert 999 == parse_sheet("[quantity.trip]\nhighest = 450\n").phrasebook.quantity("trip").highest
