"""Compared drives in the forms that `odovox compare` writes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import BinaryIO

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
from logger.core.units import Distances
from logger.engine.many import spread_of
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
