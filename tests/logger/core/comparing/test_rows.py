"""Compared drives as rows."""

from __future__ import annotations

from decimal import Decimal

from compared import summary

from logger.core.comparing.rows import MANY, comparison_grid, comparison_json, comparison_table, flag_lines
from logger.core.comparing.whole import compared

DRIVES = compared([("one", summary(402.336)), ("two", summary(None, temperature_c=3.0))])


def test_a_row_has_figures_conditions_and_flags() -> None:
    """In miles: 402.336 km are 250 mi (1.609344 km to a mile, NIST SP 811); what is not known is empty."""
    table = comparison_table(DRIVES, "mi")

    assert ("one", "two") == table.column("drive")
    assert (Decimal("250.000"), None) == table.column("range_projected_mi")
    assert (Decimal("246.893"), None) == table.column("range_projected_low_mi")
    assert (Decimal("68.351"), Decimal("68.351")) == table.column("speed_mph")
    assert ("temperature", "weather temperature") == table.column("flags")
    assert "12.0 degC apart and not within 5.0 degC" in str(table.column("why")[0])
    assert all(len(row) == len(table.columns) for row in table.rows)


def test_columns_do_not_depend_on_the_drives() -> None:
    """So that the tables of different sets can be put together."""
    assert comparison_table(DRIVES, "km").columns == comparison_table(DRIVES[:1], "km").columns


def test_objects_say_why() -> None:
    """JSON has the reason for what is not known, and the bound of each flag in base units."""
    told = comparison_json(DRIVES, "km")["drives"]
    assert isinstance(told, list)

    assert {"value": None, "why": "It was not read off."} == told[1]["figures"]["range_projected"]
    assert ("temperature", 3.0, 15.0, 5.0) == tuple(
        told[1]["flags"][1][key] for key in ("kind", "value", "others", "bound")
    )


def test_people_see_intervals() -> None:
    """A figure with its interval in brackets, a dash for none, and all rows alike in length."""
    grid = comparison_grid(DRIVES, "km")

    assert "402.3 (397.3 to 408.3)" in grid.rows[0]
    assert "-" == grid.rows[1][grid.header.index("projected\nkm")]
    assert {len(grid.header)} == {len(row) for row in grid.rows} | {len(grid.numeric)}


def test_flags_of_many_are_counted() -> None:
    """Of a few drives each flag is a sentence; of many, how many drives it is said of."""
    assert "one: the air outside differs: 15.0 degC here, 3.0 degC" in flag_lines(DRIVES, "km")[0]
    many = compared([*((f"d{k}", summary()) for k in range(MANY)), ("odd", summary(doubts=2))])
    assert ("doubts: entries are in doubt: 1 of 13 drives",) == flag_lines(many, "km")
