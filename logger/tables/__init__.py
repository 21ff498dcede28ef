"""Writers of tables to a stream of bytes: CSV, JSON lines, Parquet, and text for people."""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType
from typing import BinaryIO

from logger.core.table import Table
from logger.errors import ExportError
from logger.tables.comma_separated import write_csv
from logger.tables.for_people import write_text
from logger.tables.json_lines import write_jsonl
from logger.tables.parquet import write_parquet
from logger.tables.schema import SCHEMA_FILES, table_schema

__all__ = ["FORMATS", "SCHEMA_FILES", "TEXT_FORMATS", "table_schema", "write"]

Writer = Callable[[Table, BinaryIO], None]

FORMATS: MappingProxyType[str, Writer] = MappingProxyType(
    {"csv": write_csv, "jsonl": write_jsonl, "parquet": write_parquet, "table": write_text}
)
"""The writers by the names used on the command line."""

TEXT_FORMATS = frozenset({"csv", "jsonl", "table"})
"""The formats that may be shown on a terminal."""


def write(table: Table, form: str, stream: BinaryIO) -> None:
    """Write a table in one of `FORMATS` and flush the stream, which stays open.

    Raises:
        ExportError: the form is unknown, or the bytes cannot be written (a full disk).
        BrokenPipeError: whoever read the stream has gone; the caller decides what that means.
    """
    if form not in FORMATS:
        raise ExportError(f"there is no format '{form}'; choose one of {', '.join(FORMATS)}")
    try:
        FORMATS[form](table, stream)
        stream.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        raise ExportError(
            f"the log cannot be written: {error.strerror or error}; make room or choose another place"
        ) from error
