"""Every format is read back by something that is not ours, and holds what the table held.

Outside: frictionless (Table Schema, CSV as in RFC 4180), pyarrow and pandas (Apache Parquet), Python's json module
(RFC 8259) and rfc3339-validator (RFC 3339).
"""

from __future__ import annotations

import csv
import errno
import io
import json
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from rfc3339_validator import validate_rfc3339

from logger.core.columns import QUANTITIES
from logger.core.rows import Evidence, long_table, wide_table
from logger.core.table import Kind, Table
from logger.errors import ExportError
from logger.model import Alternative, Drive, Entry, Origin, Place, Status
from logger.tables import FORMATS, SCHEMA_FILES, TEXT_FORMATS, table_schema, write
from logger.tables.comma_separated import guarded, unguarded
from logger.tables.schema import schema_text

SHIPPED = Path(__file__).parents[3] / "logger" / "tables"
BEGAN = 1_935_565_200_123_456_789  # 2031-05-03T09:00:00.123 UTC and some
DRIVE = Drive(BEGAN, "")


def a_drive() -> list[Entry]:
    """A log with every quantity, unit, status and origin in it, with notes, an unheard call and awkward texts."""
    entries: list[Entry] = []
    statuses, origins = list(Status), list(Origin)
    readings = [(quantity, unit) for quantity, units in QUANTITIES.items() for unit in units]
    for index, (quantity, unit) in enumerate(readings):
        entries.append(
            Entry(
                id=f"{index // 2 + 1}-{index % 2 + 1}",
                utterance_id=index // 2 + 1,
                at_ns=index * 60_000_000_000 + 499_999,
                quantity=quantity,
                value=Decimal("63.0") if unit == "%" else Decimal(f"{index}.50"),
                unit=unit,
                status=statuses[index % 4],
                confidence=index / 23,
                origin=origins[index % 4],
                heard=f'words, "quoted" and ümläut {index}',
                note="",
                reason="=1+1 is no formula,\nbut two lines" if index % 4 == 1 else "",
                alternatives=(Alternative(Decimal("53.0"), unit, "fifty three", 0.1),),
            )
        )
    last = entries[-1]
    for number, (quantity, note) in enumerate(
        (("note", "headwind"), ("note", "-5 out, 'brr'"), ("unheard", ""))
    ):
        entries.append(
            Entry(
                id=f"{90 + number}-1",
                utterance_id=90 + number,
                at_ns=last.at_ns + number * 10**9,
                quantity=quantity,
                value=None,
                unit="",
                status=Status.FLAGGED if quantity == "unheard" else Status.ACCEPTED,
                confidence=1.0,
                origin=Origin.HEARD,
                heard="",
                note=note,
                reason="",
            )
        )
    return entries


def place_at(utc_ns: int) -> Place | None:
    """On the way east for 20 minutes, then in a tunnel."""
    minutes = (utc_ns - BEGAN) / 60e9
    return Place(47.5, -1.0 + minutes / 50, minutes * 1500, 25.0, 1.0) if minutes < 20 else None


def tables() -> dict[str, Table]:
    """The three tables of that log by name, and one of each unit choice for good measure."""
    log = a_drive()
    evidence = {1: Evidence("clips/1.flac", "pocketsphinx en-us")}
    return {
        "log": long_table(log, DRIVE, place_at),
        "log in km": long_table(log, DRIVE, place_at, distances="km"),
        "log-all": long_table(log, DRIVE, place_at, evidence=evidence),
        "checkpoints": wide_table(log, DRIVE, place_at),
        "checkpoints in mi": wide_table(log, DRIVE, place_at, distances="mi"),
        "empty log": long_table([], DRIVE, place_at),
        "empty checkpoints": wide_table([], DRIVE, place_at),
    }


TABLES = tables()


def written(table: Table, form: str) -> bytes:
    """The bytes of a table in a format."""
    stream = io.BytesIO()
    write(table, form, stream)
    return stream.getvalue()


def complaints(table: Table, data: bytes, tmp_path: Path) -> list[Any]:
    """What frictionless finds wrong with a CSV file by the shipped schema."""
    from frictionless import Schema
    from frictionless.resources import TableResource

    (tmp_path / "export.csv").write_bytes(data)
    schema = Schema.from_descriptor(json.loads((SHIPPED / SCHEMA_FILES[table.name]).read_text("utf-8")))
    report = TableResource(path="export.csv", basepath=str(tmp_path), schema=schema).validate()
    return list(report.flatten(["rowNumber", "fieldName", "type", "note"]))


@pytest.mark.parametrize("name", TABLES)
def test_csv_is_valid(name: str, tmp_path: Path) -> None:
    """Frictionless finds nothing wrong with any export, by the schema that ships."""
    assert [] == complaints(TABLES[name], written(TABLES[name], "csv"), tmp_path)


@pytest.mark.parametrize(
    ("name", "right", "wrong", "complaint"),
    [
        ("log", b",charge,63.0,", b",charge,sixty,", ("value", "type-error")),
        ("log", b",charge,", b",chagre,", ("quantity", "constraint-error")),
        ("log", b"1-1,", b"2-1,", ("entry_id", "unique-error")),
        ("log", b"2031-05-03T", b"3 May 2031 ", ("at", "type-error")),
        ("log", b"lat_deg", b"latitude", ("lat_deg", "incorrect-label")),
        ("log", b"47.5000000", b"147.5000000", ("lat_deg", "constraint-error")),
        ("log", b",accepted,", b",,", ("status", "constraint-error")),
        ("log-all", b"[{", b"[[", ("alternatives", "type-error")),
        ("checkpoints", b"charge_pct", b"charge_parts", ("", "extra-label")),
        ("checkpoints", b"\r\n1,", b"\r\n2,", ("checkpoint", "unique-error")),
    ],
)
def test_the_schema_can_fail(
    name: str, right: bytes, wrong: bytes, complaint: tuple[str, str], tmp_path: Path
) -> None:
    """A wrong value, name, id, time, column or place in an export is found, and for what it is."""
    data = written(TABLES[name], "csv")
    assert right in data
    found = [
        (field, kind)
        for _, field, kind, _ in complaints(TABLES[name], data.replace(right, wrong, 1), tmp_path)
    ]

    assert complaint in found


@pytest.mark.parametrize("name", SCHEMA_FILES)
def test_the_shipped_schemas_are_current(name: str) -> None:
    """The files beside the writers are what the column definitions say (`write_schema_files` makes them anew)."""
    from frictionless import Schema

    assert schema_text(name) == (SHIPPED / SCHEMA_FILES[name]).read_text("utf-8")
    assert [field["name"] for field in table_schema(name)["fields"]] == [
        field.name for field in Schema.from_descriptor(table_schema(name)).fields
    ]


@pytest.mark.parametrize("name", TABLES)
def test_csv_lines(name: str) -> None:
    """RFC 4180: every record, the header too, ends in CRLF and has the same number of fields; the text is UTF-8."""
    table = TABLES[name]
    text = written(table, "csv").decode("utf-8")
    records = list(csv.reader(io.StringIO(text, newline="")))

    assert text.endswith("\r\n")
    assert [column.name for column in table.columns] == records[0]
    assert {len(table.columns)} == {len(record) for record in records}
    assert len(table.rows) + 1 == len(records)


def test_csv_keeps_what_was_said() -> None:
    """63.0 stays 63.0, absent is empty, and a text that a spreadsheet would run gets an apostrophe."""
    rows = list(csv.DictReader(io.StringIO(written(TABLES["log"], "csv").decode(), newline="")))

    assert ("63.0", "%") == (rows[0]["value"], rows[0]["unit"])
    assert ("", "", "") == (rows[-1]["value"], rows[-1]["unit"], rows[-1]["note"])
    assert "'=1+1 is no formula,\nbut two lines" == rows[1]["reason"]
    assert "'-5 out, 'brr'" == rows[-2]["note"]
    assert "-0.9799998" == rows[1]["lon_deg"]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@sum", "\t=1", "\r=1", " =1", "'quoted", "'=1", "＝1"])
def test_guarding_can_be_undone(text: str) -> None:
    """A risky text gets exactly one apostrophe, which comes off again."""
    assert f"'{text}" == guarded(text)
    assert text == unguarded(guarded(text))


@pytest.mark.parametrize("text", ["", "sixty three percent", "5 - 3", "a=b", "rain, no wind", "ümläut"])
def test_harmless_texts_stay(text: str) -> None:
    """What no spreadsheet runs is not touched."""
    assert text == guarded(text) == unguarded(text)


@pytest.mark.parametrize("name", TABLES)
def test_json_lines(name: str) -> None:
    """Each line is an object with every column; numbers are numbers, absent is null, texts are exact."""
    table = TABLES[name]
    lines = written(table, "jsonl").decode("utf-8").splitlines()
    objects = [json.loads(line, parse_float=Decimal, parse_int=Decimal) for line in lines]
    exact = [column for column in table.columns if column.kind in (Kind.TEXT, Kind.NUMBER, Kind.INTEGER)]

    assert len(table.rows) == len(objects)
    for record in objects:
        assert [column.name for column in table.columns] == list(record)
    for column in exact:
        cells = [record[column.name] for record in objects]
        assert [str(cell) for cell in table.column(column.name)] == [str(cell) for cell in cells]


def test_json_values_as_said() -> None:
    """63.0 is written 63.0, and the alternatives are an array, not a text."""
    first = written(TABLES["log-all"], "jsonl").decode("utf-8").splitlines()[0]

    assert '"value": 63.0,' in first
    assert [{"value": 53.0, "unit": "%", "heard": "fifty three", "confidence": 0.1}] == json.loads(first)[
        "alternatives"
    ]


@pytest.mark.parametrize("name", ["log", "log-all", "checkpoints"])
def test_times_are_rfc_3339(name: str) -> None:
    """Every `at`, in CSV and JSON lines, satisfies an outside validator, and is the instant it should be."""
    table = TABLES[name]
    from_json = [json.loads(line)["at"] for line in written(table, "jsonl").decode().splitlines()]
    from_csv = [row["at"] for row in csv.DictReader(io.StringIO(written(table, "csv").decode(), newline=""))]

    assert from_json == from_csv
    assert all(validate_rfc3339(text) for text in from_csv)
    assert "2031-05-03T09:00:00.124Z" == from_csv[0]
    for text, utc_ns in zip(from_csv, table.column("at"), strict=True):
        assert isinstance(utc_ns, int)
        assert abs(datetime.fromisoformat(text).timestamp() - utc_ns / 1e9) <= 0.000_51


@pytest.mark.parametrize("name", TABLES)
def test_parquet(name: str) -> None:
    """Pyarrow reads back the same columns, types, values and gaps; an empty log is an empty file of the same types."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    table = TABLES[name]
    read = pq.read_table(io.BytesIO(written(table, "parquet")))
    types = {
        Kind.TEXT: pa.string(),
        Kind.JSON: pa.string(),
        Kind.NUMBER: pa.float64(),
        Kind.INTEGER: pa.int64(),
        Kind.INSTANT: pa.timestamp("ms", tz="UTC"),
    }

    assert [(column.name, types[column.kind]) for column in table.columns] == [
        (field.name, field.type) for field in read.schema
    ]
    assert len(table.rows) == read.num_rows
    for column in table.columns:
        cells = read.column(column.name).to_pylist()
        if column.kind is Kind.NUMBER:
            assert [None if cell is None else float(cell) for cell in table.column(column.name)] == cells
        elif column.kind is not Kind.INSTANT:
            assert list(table.column(column.name)) == cells
        assert column.meaning == read.schema.field(column.name).metadata[b"description"].decode()


def test_parquet_times_in_pandas() -> None:
    """Pandas gets instants with a zone, to the millisecond."""
    import pandas as pd

    frame = pd.read_parquet(io.BytesIO(written(TABLES["log"], "parquet")))

    assert datetime(2031, 5, 3, 9, 0, 0, 124_000, tzinfo=UTC) == frame["at"][0].to_pydatetime()
    assert 63.0 == frame["value"][0]


def test_columns_that_are_never_absent_never_are() -> None:
    """A column documented as never absent has a cell in every row of every table."""
    for table in TABLES.values():
        for column in table.columns:
            if column.absent == "never":
                assert None not in table.column(column.name)


def test_the_table_for_people() -> None:
    """It shows time since the start, values with their units, clock times as such, and doubt in words."""
    lines = written(TABLES["log-all"], "table").decode().splitlines()
    clock = next(line for line in lines if " clock " in line)
    doubtful = next(line for line in lines if line.startswith("1-2"))

    assert [
        "entry",
        "time",
        "gps",
        "km",
        "quantity",
        "value",
        "unit",
        "status",
        "sure",
        "heard",
        "remark",
    ] == lines[0].split()
    assert "00:19" in clock
    assert " min" not in clock
    assert "IN DOUBT" in doubtful
    assert "0:01:00" in doubtful
    assert "is no formula,?but two lines" in doubtful
    assert any("REJECTED" in line for line in lines)
    assert 1 == len({line.index("  ", 0, 12) > 0 for line in lines[2:]})


def test_the_wide_table_for_people() -> None:
    """A row per checkpoint, with the doubtful quantities named."""
    lines = written(TABLES["checkpoints"], "table").decode().splitlines()

    assert lines[0].split()[:3] == ["checkpoint", "time", "gps_distance_km"]
    assert "IN DOUBT" in lines[0]
    assert "charge_pct" in lines[0]
    assert any(line.split()[:2] == ["1", "0:00:00"] and "63.0" in line for line in lines)
    assert any("unheard" in line for line in lines)


def test_the_terminal_is_not_steered() -> None:
    """Control characters in a text come out as question marks."""
    table = Table(
        "checkpoints",
        TABLES["empty checkpoints"].columns,
        ((1, 0, Decimal(0), *[None] * 3, None, "\x1b[2J"),),
    )

    assert b"?[2J" in written(table, "table")
    assert b"\x1b" not in written(table, "table")


@pytest.mark.parametrize(("seconds", "text"), [("0", "0:00:00"), ("3661.6", "1:01:02"), ("-5", "-0:00:05")])
def test_hours(seconds: str, text: str) -> None:
    """Times are rounded to seconds, may exceed a day's hours, and may lie before the start."""
    table = Table(
        "checkpoints", TABLES["empty checkpoints"].columns, ((1, 0, Decimal(seconds), *[None] * 5),)
    )

    assert text in written(table, "table").decode().splitlines()[2]


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("name", ["empty log", "empty checkpoints"])
def test_an_empty_log(form: str, name: str) -> None:
    """A log without entries is a header, or nothing at all as JSON lines; never an error."""
    data = written(TABLES[name], form)

    assert (form == "jsonl") == (data == b"")
    if form in TEXT_FORMATS:
        assert len(data.splitlines()) <= 2


class Gone(io.RawIOBase):
    """A stream whose reader has gone, or whose disk is full."""

    def __init__(self, error: OSError) -> None:
        super().__init__()
        self._error = error

    def writable(self) -> bool:
        """As any output."""
        return True

    def write(self, _data: object) -> int:
        """Fail."""
        raise self._error


@pytest.mark.parametrize("form", FORMATS)
def test_a_broken_pipe_is_passed_on(form: str) -> None:
    """The caller learns that nobody reads any more, from every writer, as BrokenPipeError."""
    with pytest.raises(BrokenPipeError):
        write(TABLES["log"], form, Gone(BrokenPipeError(errno.EPIPE, "Broken pipe")))  # type: ignore[arg-type]


@pytest.mark.parametrize("form", FORMATS)
def test_a_full_disk(form: str) -> None:
    """A real full device (/dev/full, Linux) gives one line with what to do."""
    with Path("/dev/full").open("wb", buffering=0) as stream, pytest.raises(ExportError) as caught:
        write(TABLES["log"], form, stream)

    assert "the log cannot be written: No space left on device; make room or choose another place" == str(
        caught.value
    )


def test_an_unknown_format() -> None:
    """It is told which there are."""
    with pytest.raises(ExportError, match="no format 'xlsx'; choose one of csv, jsonl, parquet, table"):
        write(TABLES["log"], "xlsx", io.BytesIO())


def test_the_stream_stays_open() -> None:
    """Writers do not close what is not theirs: standard output is used again."""
    for form in FORMATS:
        stream = io.BytesIO()
        write(TABLES["log"], form, stream)
        assert not stream.closed
