"""One data set of several drives: read as one table by pyarrow, DuckDB and pandas, and safe to write again.

Spark reads what these do: folders `drive=NAME`, Parquet version 2.6 types, names that no engine takes for numbers.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from pathlib import Path

import duckdb
import pandas as pd
import pyarrow as pa
import pyarrow.dataset
import pyarrow.parquet
import pytest

from logger.core.rows import long_table, wide_table
from logger.core.table import Table
from logger.errors import ExportError
from logger.model import Drive, Entry, Origin, Place, Status
from logger.tables.data_set import DataSet

BEGAN = 1_935_558_000_000_000_000


def entries(values: Iterable[str]) -> list[Entry]:
    """Charges, one a minute."""
    return [
        Entry(f"{k}-1", k, k * 60 * 10**9, "charge", Decimal(value), "%", Status.ACCEPTED, 0.9, Origin.HEARD, "so", "", "")
        for k, value in enumerate(values, start=1)
    ]  # fmt: skip


def table(*values: str) -> Table:
    """The long form of charges; without values it has no rows."""
    return long_table(entries(values), Drive(BEGAN, ""), lambda _: Place(1.0, 2.0, 3.0, None, 1.0))


def rows(folder: Path) -> list[tuple[str, float]]:
    """Drive and charge of every row, by DuckDB."""
    found = duckdb.sql(
        f"SELECT drive, value FROM read_parquet('{folder}/*/*.parquet', hive_partitioning = true) ORDER BY ALL"
    ).fetchall()
    return [(str(drive), float(value)) for drive, value in found]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Four drives, one without an entry, two whose names look like something else."""
    data_set = DataSet(tmp_path / "logs")
    data_set.put("loop", BEGAN, table("80", "79"))
    data_set.put("2031-05-03", BEGAN, table("70"))
    data_set.put("17", BEGAN, table("60.5"))
    data_set.put("nothing said", BEGAN, table())
    return tmp_path / "logs"


def test_the_layout(folder: Path) -> None:
    """A folder for each drive, named as Hive names partitions, with one part."""
    found = sorted(each.relative_to(folder).as_posix() for each in folder.rglob("*") if each.is_file())

    assert [
        "drive=drive-17/part-0.parquet",
        "drive=drive-2031-05-03/part-0.parquet",
        "drive=loop/part-0.parquet",
        "drive=nothing-said/part-0.parquet",
    ] == found


def test_duckdb_reads_it(folder: Path) -> None:
    """DuckDB finds the drives in the paths, as text."""
    assert [("drive-17", 60.5), ("drive-2031-05-03", 70.0), ("loop", 79.0), ("loop", 80.0)] == rows(folder)
    kinds = duckdb.sql(
        f"SELECT DISTINCT typeof(drive) FROM read_parquet('{folder}/*/*.parquet', hive_partitioning = true)"
    ).fetchall()
    assert [("VARCHAR",)] == kinds


def test_pyarrow_reads_it(folder: Path) -> None:
    """pyarrow.dataset takes all parts for one table with one schema: instants in UTC, doubles, text."""
    found = pyarrow.dataset.dataset(folder, partitioning="hive")

    assert 4 == found.count_rows()
    assert pa.timestamp("ms", tz="UTC") == found.schema.field("at").type
    assert pa.float64() == found.schema.field("value").type
    assert pa.string() == found.schema.field("drive").type
    schemas = {str(pyarrow.parquet.read_schema(each).remove_metadata()) for each in folder.rglob("*.parquet")}
    assert 1 == len(schemas)


def test_pandas_reads_it(folder: Path) -> None:
    """So does pandas: it reads the folder as it is."""
    frame = pd.read_parquet(folder)

    assert {"loop": 79.5, "drive-17": 60.5, "drive-2031-05-03": 70.0} == frame.groupby(
        "drive", observed=True
    )["value"].mean().to_dict()


def test_again_replaces_that_drive_only(folder: Path) -> None:
    """The same drive, longer now, takes the place of what was there; the others are as they were."""
    before = {each: each.read_bytes() for each in folder.rglob("*.parquet") if "loop" not in str(each)}
    DataSet(folder).put("loop", BEGAN, table("80", "79", "78"))

    assert [78.0, 79.0, 80.0] == [value for drive, value in rows(folder) if drive == "loop"]
    assert before == {each: each.read_bytes() for each in before}


def test_another_drive_of_the_same_name_is_another(folder: Path) -> None:
    """Drives are told apart by when they began; each finds its own part again, whatever is written first."""
    data_set = DataSet(folder)
    data_set.put("LOOP", BEGAN + 1, table("50"))
    data_set.put("loop", BEGAN + 1, table("51"))
    data_set.put("loop", BEGAN, table("81"))

    assert [("LOOP-2", 51.0), ("loop", 81.0)] == [
        each for each in rows(folder) if "loop" in each[0].casefold()
    ]


def test_another_form_is_refused(folder: Path) -> None:
    """Columns are taken from any part, so all must have the same; nothing is written."""
    wide = wide_table(entries(["80"]), Drive(BEGAN, ""), lambda _: None, distances="km", shared=True)
    before = sorted(folder.rglob("*"))

    with pytest.raises(ExportError, match="other columns"):
        DataSet(folder).put("wide", BEGAN, wide)
    assert before == sorted(folder.rglob("*"))


def test_what_cannot_be_written_leaves_nothing_behind(folder: Path) -> None:
    """Where a file stands in the way of the part's folder, one line says so; a part that is none is named."""
    (folder / "drive=stone").write_text("", "utf-8")
    with pytest.raises(ExportError, match="cannot be written as a data set"):
        DataSet(folder).put("stone", BEGAN, table("1"))
    (folder / "drive=loop" / "part-0.parquet").write_text("no Parquet", "utf-8")
    with pytest.raises(ExportError, match="is no Parquet file"):
        DataSet(folder).put("loop", BEGAN, table("1"))
    assert [] == list(folder.rglob(".*"))


def test_the_part_is_whole_or_not_there(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """If writing breaks off halfway, as on a full disk, the old part stays and the unfinished one goes."""

    def breaks_off(_table: Table, stream: object, _about: object) -> None:
        stream.write(b"PAR1")  # type: ignore[attr-defined]
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("logger.tables.data_set.write_parquet", breaks_off)
    with pytest.raises(ExportError, match="No space left"):
        DataSet(folder).put("loop", BEGAN, table("1"))

    assert [79.0, 80.0] == [value for drive, value in rows(folder) if drive == "loop"]
    assert [] == list(folder.rglob(".*"))
