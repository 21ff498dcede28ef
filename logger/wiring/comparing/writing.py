"""Compared drives in the forms that `odovox compare` writes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import BinaryIO

from logger.core.comparing.overlay import KINDS, overlay, points
from logger.core.comparing.page import page_of
from logger.core.comparing.rows import (
    MANY,
    comparison_grid,
    comparison_json,
    comparison_table,
    flag_lines,
    main_columns,
)
from logger.core.comparing.whole import Beside
from logger.core.json_text import json_text
from logger.core.reporting.figure_words import ShownUnits
from logger.core.units import Distances
from logger.engine.many import bands, spread_of
from logger.store.drive_store import this_software
from logger.tables import write
from logger.tables.for_people import aligned


def write_table(drives: Sequence[Beside], distances: Distances, form: str, stream: BinaryIO) -> None:
    """Write one row a drive as CSV or Parquet.

    Raises:
        ExportError: it cannot be written.
    """
    write(comparison_table(drives, distances), form, stream)


def as_json(drives: Sequence[Beside], distances: Distances) -> str:
    """Return the comparison as one JSON object."""
    return json_text(comparison_json(drives, distances)) + "\n"


def as_text(drives: Sequence[Beside], distances: Distances) -> str:
    """Return the comparison as text for people; of many drives also how the figures are spread."""
    parts = [aligned(comparison_grid(drives, distances))]
    if len(drives) > MANY:
        parts.append(aligned(spread_of(comparison_table(drives, distances), main_columns(distances))))
    lines = flag_lines(drives, distances)
    if lines:
        parts.append("What makes drives not comparable:\n" + "\n".join(f"  {line}" for line in lines) + "\n")
    return "\n".join(parts)


def as_html(drives: Sequence[Beside], distances: Distances) -> str:
    """Return the comparison as one page that needs nothing from anywhere."""
    from logger.charts import draw_overlays
    from logger.pages import comparison_page

    units, many = ShownUnits(distances), len(drives) > MANY
    overlays = [overlay(drives, kind, bands(points(drives, kind)) if many else (), units) for kind in KINDS]
    table = comparison_table(drives, distances)
    page = page_of(
        drives,
        distances,
        [each.chart for each in overlays],
        spread=spread_of(table, main_columns(distances)) if many else None,
        written_by=this_software(),
    )
    return comparison_page(page, {each.chart.key: each.inline() for each in draw_overlays(overlays, units)})
