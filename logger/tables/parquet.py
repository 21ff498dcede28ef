"""Apache Parquet, by pyarrow: typed columns, each with its meaning and unit as metadata."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, BinaryIO

from logger.core.table import Cell, Kind, Table

if TYPE_CHECKING:
    import pyarrow as pa


def write_parquet(table: Table, stream: BinaryIO, file_metadata: Mapping[str, str] | None = None) -> None:
    """Write the table as one Parquet file; a log without rows is a valid file without rows.

    `file_metadata` goes into the file itself, beside what each column says of itself.

    Numbers are doubles, so how many decimals were said is not kept here (it is in CSV and JSON lines); instants are
    timestamps in UTC, rounded to milliseconds.

    Raises:
        OSError: the stream cannot be written.
    """
    import pyarrow as pa  # heavy
    import pyarrow.parquet as pq

    types = {
        Kind.TEXT: pa.string(),
        Kind.JSON: pa.string(),
        Kind.NUMBER: pa.float64(),
        Kind.INTEGER: pa.int64(),
        Kind.INSTANT: pa.timestamp("ms", tz="UTC"),
    }
    fields: list[pa.Field] = []
    arrays: list[pa.Array] = []
    for index, column in enumerate(table.columns):
        about = {"description": column.meaning} | ({"unit": column.unit} if column.unit else {})
        fields.append(
            pa.field(column.name, types[column.kind], nullable=column.absent != "never", metadata=about)
        )
        arrays.append(
            pa.array([_native(column.kind, row[index]) for row in table.rows], type=types[column.kind])
        )
    pq.write_table(pa.Table.from_arrays(arrays, schema=pa.schema(fields, metadata=file_metadata)), stream)


def _native(kind: Kind, cell: Cell) -> str | int | float | None:
    if kind is Kind.INSTANT and isinstance(cell, int):
        return (cell + 500_000) // 1_000_000
    return float(cell) if isinstance(cell, Decimal) else cell
