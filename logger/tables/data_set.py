"""One Parquet data set of many drives: a folder with a part for each, `drive=NAME/part-0.parquet`, as Hive lays them out."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from logger.core.drive_names import numbered, safe_name
from logger.core.table import Table
from logger.errors import ExportError
from logger.tables.parquet import write_parquet

if TYPE_CHECKING:
    import pyarrow as pa

_PART = "part-0.parquet"
_FOLDER = "drive="
_BEGAN = "odovox.began_utc_ns"


class DataSet:
    """A folder that drives are put into, one after the other; those in it already stay.

    Args:
        folder: made when the first drive is put into it.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def put(self, drive: str, began_utc_ns: int, table: Table) -> Path:
        """Put a drive's table in the place of what the data set has of that drive, whole or not at all.

        A drive is known again by its name and by when it began; another one of the same name gets a number.

        Returns:
            its file.

        Raises:
            ExportError: the folder cannot be written, or what is in it has other columns.
        """
        try:
            part = self._part(safe_name(drive), began_utc_ns)
            self._same_columns(table)
            part.parent.mkdir(parents=True, exist_ok=True)
            # Engines leave out what begins with a dot.
            unfinished = part.with_name(f".{_PART}.unfinished")
            try:
                with unfinished.open("wb") as file:
                    write_parquet(table, file, {_BEGAN: str(began_utc_ns)})
                    file.flush()
                    os.fsync(file.fileno())
                unfinished.replace(part)
            finally:
                unfinished.unlink(missing_ok=True)
        except OSError as error:
            raise ExportError(
                f"{self._folder}: cannot be written as a data set ({error.strerror or error}); choose another folder"
            ) from error
        return part

    def _parts(self) -> dict[str, Path]:
        """Return the parts that are there, by the name of their drive without its capitals."""
        found = self._folder.glob(f"{_FOLDER}*/{_PART}")
        return {each.parent.name.removeprefix(_FOLDER).casefold(): each for each in sorted(found)}

    def _part(self, name: str, began_utc_ns: int) -> Path:
        parts = self._parts()
        for each in numbered(name):
            there = parts.get(each.casefold())
            if there is None:
                return self._folder / f"{_FOLDER}{each}" / _PART
            if _about(there).get(_BEGAN) == str(began_utc_ns):
                return there
        raise AssertionError

    def _same_columns(self, table: Table) -> None:
        """Compare a table with what is there: engines take the columns of a data set from any of its parts.

        Raises:
            ExportError: they have different columns.
        """
        columns = [column.name for column in table.columns]
        for part in self._parts().values():
            if _columns(part) != columns:
                raise ExportError(
                    f"{self._folder}: holds logs of another form ({part.parent.name} has other columns); "
                    "choose another folder, or the same --wide, --all and --units"
                )
            break


def _columns(part: Path) -> list[str]:
    """Return the columns of a part.

    Raises:
        ExportError: it is no Parquet file.
    """
    return list(_schema(part).names)


def _about(part: Path) -> dict[str, str]:
    found = _schema(part).metadata or {}
    return {key.decode(): value.decode(errors="replace") for key, value in found.items()}


def _schema(part: Path) -> pa.Schema:
    import pyarrow as pa  # heavy
    import pyarrow.parquet as pq

    try:
        return pq.read_schema(part)
    except pa.ArrowInvalid as error:
        raise ExportError(f"{part}: is no Parquet file; remove it, or choose another folder") from error
