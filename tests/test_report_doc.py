"""docs/report.md names every member of the report's JSON and every chart, and shows pictures that are there."""

from __future__ import annotations

import json
import re
from pathlib import Path

from made_results import NO_SERIES

from logger.core.reporting.chart_words import along, charts_of
from logger.core.reporting.figure_words import ShownUnits

REPOSITORY = Path(__file__).resolve().parents[1]
PAGE = (REPOSITORY / "docs" / "report.md").read_text(encoding="utf-8")
SCHEMA = json.loads((REPOSITORY / "logger" / "cli" / "report.schema.json").read_text(encoding="utf-8"))


def test_members() -> None:
    """Those of the whole, of the drive, of a figure and of what the charts show."""
    members = [
        *SCHEMA["properties"],
        *SCHEMA["$defs"]["figure"]["properties"],
        *SCHEMA["$defs"]["section"]["properties"],
    ]
    for name in ("drive", "series", "shown_in"):
        members += SCHEMA["properties"][name]["properties"]
    assert [] == [name for name in members if f"`{name}`" not in PAGE]


def test_charts() -> None:
    """By the names of their files."""
    charts = charts_of(NO_SERIES, ShownUnits("km"), along(by_gps=True))
    assert [] == [each.key for each in charts if f"`{each.key}`" not in PAGE]


def test_pictures_and_links() -> None:
    """Each is there."""
    for target in re.findall(r"\]\(([^)#]+)", PAGE):
        assert (REPOSITORY / "docs" / target).exists(), target
