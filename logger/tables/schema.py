"""Table Schema descriptors (the Frictionless standard) of the CSV forms, made from the column definitions.

The files beside this module are what `write_schema_files` writes; a test holds that they are current.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from types import MappingProxyType
from typing import Any

from logger.core.columns import EVIDENCE, LOG, WIDE
from logger.core.table import Column, Kind

_TYPES = {
    Kind.TEXT: "string",
    Kind.NUMBER: "number",
    Kind.INTEGER: "integer",
    Kind.INSTANT: "datetime",
    Kind.JSON: "array",
}

SCHEMA_FILES = MappingProxyType(
    {
        "log": "log.schema.json",
        "log-all": "log-all.schema.json",
        "checkpoints": "checkpoints.schema.json",
    }
)
"""For each name of a table, the file beside this module that describes it."""


def table_schema(name: str) -> dict[str, Any]:
    """Return the Table Schema of `log`, `log-all` or `checkpoints`.

    The wide form has only the columns of the quantities in it, so its schema says `fieldsMatch: superset`
    (Table Schema version 2): no column but these, and maybe fewer.
    """
    schema: dict[str, Any] = {
        "title": {
            "log": "odovox log, long form: one row per entry",
            "log-all": "odovox log, long form with all entries and what each can be traced back to",
            "checkpoints": "odovox log, wide form: one row per checkpoint",
        }[name],
        "fields": _fields({"log": LOG, "log-all": LOG + EVIDENCE, "checkpoints": WIDE}[name]),
        "missingValues": [""],
        "primaryKey": ["checkpoint" if name == "checkpoints" else "entry_id"],
    }
    if name == "checkpoints":
        schema["fieldsMatch"] = "superset"
    return schema


def schema_text(name: str) -> str:
    """Return the same as the text of its file."""
    return json.dumps(table_schema(name), indent=2, ensure_ascii=False) + "\n"


def write_schema_files(folder: Path) -> None:
    """Write the files of all three into a folder: this module's own, after a column has changed."""
    for name, file_name in SCHEMA_FILES.items():
        (folder / file_name).write_text(schema_text(name), encoding="utf-8")


def _fields(columns: Iterable[Column]) -> list[dict[str, Any]]:
    return [_field(column) for column in columns]


def _field(column: Column) -> dict[str, Any]:
    absent = "" if column.absent == "never" else f" Empty when {column.absent}."
    field: dict[str, Any] = {
        "name": column.name,
        "type": _TYPES[column.kind],
        "description": column.meaning + absent,
    }
    if column.unit:
        field["unit"] = column.unit
    limits = {
        "required": column.absent == "never" or None,
        "unique": column.unique or None,
        "enum": list(column.choices) or None,
        "minimum": column.lowest,
        "maximum": column.highest,
    }
    constraints = {key: limit for key, limit in limits.items() if limit is not None}
    return field | ({"constraints": constraints} if constraints else {})
