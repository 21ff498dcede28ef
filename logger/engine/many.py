"""How figures are spread over many drives, by DuckDB over columns of Arrow; nothing is written anywhere."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from logger.core.comparing.rows import Grid
from logger.core.table import Table

QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
"""Which share of the drives lies below."""


def spread_of(table: Table, names: Sequence[str]) -> Grid:
    """Return how some columns of numbers of a table are spread over its rows: how many know it, and its quantiles."""
    import duckdb  # heavy
    import pyarrow as pa

    columns = {name: [_float(cell) for cell in table.column(name)] for name in names}
    with duckdb.connect() as engine:
        engine.register(
            "drives", pa.table(columns, schema=pa.schema([(name, pa.float64()) for name in names]))
        )
        rows = engine.execute(
            f"SELECT name, count(value), {_quantiles()} FROM (UNPIVOT drives ON COLUMNS(*) INTO NAME name VALUE value) "  # noqa: S608  (numbers of ours)
            "GROUP BY name"
        ).fetchall()
    told = {str(row[0]): row[1:] for row in rows}
    header = ("of all drives", "known", *(f"{share * 100:g} %" for share in QUANTILES))
    return Grid(
        header,
        tuple((name, str(told[name][0]), *(f"{value:.1f}" for value in told[name][1:])) for name in names if name in told),
        (False, *(True for _ in header[1:])),
    )  # fmt: skip


def bands(points: Mapping[str, Sequence[float]]) -> tuple[tuple[float, ...], ...]:
    """Return how values are spread at each place: rows of the place, how many drives reach it, and the quantiles.

    Args:
        points: columns `place` and `value`, alike in length.
    """
    import duckdb
    import pyarrow as pa

    with duckdb.connect() as engine:
        engine.register(
            "points", pa.table({name: pa.array(values, pa.float64()) for name, values in points.items()})
        )
        return tuple(
            engine.execute(
                f"SELECT place, count(value), {_quantiles()} FROM points GROUP BY place ORDER BY place"  # noqa: S608
            ).fetchall()
        )


def _quantiles() -> str:
    return ", ".join(f"quantile_cont(value, {share})" for share in QUANTILES)


def _float(cell: object) -> float | None:
    return float(cell) if isinstance(cell, Decimal) else None
