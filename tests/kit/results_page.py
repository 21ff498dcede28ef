"""The part of docs/formats.md that lists every figure and table of the results of readings and distance; run it to write it anew."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from read_drives import Said, charges, seen, straight_track

from logger.core.results.answers import SECTIONS
from logger.core.results.basis import Basis, basis_of
from logger.core.results.figures import Figure, Section
from logger.core.table import Column, Table
from logger.core.way import Way

PAGE = Path(__file__).resolve().parents[2] / "docs" / "formats.md"
BEGIN, END = "<!-- figures: begin -->", "<!-- figures: end -->"
_TEST = {"usable_kwh": 60, "rated_range_km": 450, "target_gps_speed_kmh": 100}


def _everything_read() -> list[Said]:
    """A drive out and back until past 0 %, everything on the dash read off along with the charge."""
    said: list[Said] = []
    for km, *_, value, _ in charges(4.0, range(100, -1, -1)):
        said.append((km, "charge", value, "%"))
        if int(value) % 5 == 0:
            said.append((km, "trip", f"{km:.1f}", "km"))
            said.append((km, "odometer", str(int(9000 + km)), "km"))
            said.append((km, "range_left", str(max(0, 430 - round(km))), "km"))
            said.append((km, "efficiency", "140", "Wh/km"))
            said.append((km, "energy_used", f"{km * 0.14:.1f}", "kWh"))
            said.append((km, "indicated_speed", "103", "km/h"))
    return said


def _drives() -> Iterator[Basis]:
    """Drives in which, together, each figure and each table is there."""
    whole = _everything_read()
    yield basis_of(
        seen(whole, track=straight_track(420.0, back_from_km=210.0), test=_TEST, way=Way(None, 20.0))
    )


def told() -> Iterator[tuple[Section, dict[str, str], list[Table]]]:
    """Yield each section, the units of its figures by key, and its tables."""
    for make in SECTIONS.values():
        made = [make(basis) for basis in _drives()]
        units = {
            line.key: line.answer.unit
            for section in made
            for line in section.lines
            if isinstance(line.answer, Figure)
        }
        tables = {table.name: table for section in made for table in section.tables}
        yield made[0], units, list(tables.values())


def _column(column: Column) -> str:
    return f"| `{column.name}` | {column.kind} | {column.unit} | {column.meaning} | {column.absent} |"


def part() -> str:
    """Return the part of the page between its marks."""
    lines: list[str] = []
    for section, units, tables in told():
        lines += [f"### `{section.key}`: {section.title}", "", "| figure | unit | what |", "|---|---|---|"]
        lines += [f"| `{line.key}` | {units[line.key]} | {line.label} |" for line in section.lines]
        lines.append("")
        for table in tables:
            lines += [
                f"Table `{table.name}`:",
                "",
                "| column | type | unit | meaning | empty when |",
                "|---|---|---|---|---|",
            ]
            lines += [_column(column) for column in table.columns]
            lines.append("")
    return "\n".join(lines)


def main() -> None:
    """Write the part into the page."""
    text = PAGE.read_text(encoding="utf-8")
    before, rest = text.split(BEGIN)
    after = rest.split(END)[1]
    PAGE.write_text(f"{before}{BEGIN}\n\n{part()}\n{END}{after}", encoding="utf-8")


if __name__ == "__main__":
    main()
