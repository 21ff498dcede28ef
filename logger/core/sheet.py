"""Sheet text (TOML) -> what is called out on a drive and within which limits. Pure: the text is passed in.

A sheet may leave out everything; `default_sheet()` is what no sheet means. Mistakes raise SheetError with the
line and the key. `docs/sheet.md` describes every key.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from math import isfinite
from types import MappingProxyType
from typing import cast

from rapidfuzz import process

from grammar import (
    DEFAULT_LEAD,
    NOTE_KINDS,
    UNITS,
    GrammarError,
    Phrasebook,
    Quantity,
    UnitSystem,
    default_quantities,
)
from logger.core.fixes import on_earth
from logger.core.toml_lines import line_of_key
from logger.core.units import METRES
from logger.core.way import LEAST_LAP_M, LOOP_RESERVE_POINTS, OUT_AND_BACK_RESERVE_POINTS, Way
from logger.errors import SheetError

_TOP_KEYS = ("lead", "open", "units", "only", "notes", "quantity", "loop", "out_and_back", "test")
_QUANTITY_KEYS = ("units", "unit", "lowest", "highest", "decimals", "keywords", "off", "display_highest")
_LOOP_KEYS = ("length", "reserve", "start")
_OUT_AND_BACK_KEYS = ("reserve", "start")
_AMOUNT = re.compile(r"(\d{1,4}(?:\.\d{1,3})?) ?(mi|km|%)")
_MOST_RESERVE_POINTS = 50.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """What is called out on a drive.

    Attributes:
        phrasebook: the language it makes.
        test: the conditions noted on the sheet (car, tyres, ...), free text and numbers by key, kept with the drive.
        way: the way back to the start, None where the sheet says nothing of one.
    """

    phrasebook: Phrasebook
    test: Mapping[str, str | int | float | bool]
    way: Way | None = None


def default_sheet() -> Sheet:
    """Return what no sheet means: every quantity, lead word "checkpoint", miles first, kilometres understood."""
    return Sheet(Phrasebook(), MappingProxyType({}))


def parse_sheet(text: str, name: str = "sheet") -> Sheet:
    """Return the sheet a TOML text describes.

    Raises:
        SheetError: the text is no TOML, or a key or value is not understood; the message starts with
            `name:line:` and names the key.
    """
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SheetError(f"{name}: not valid TOML: {error}") from error
    return _SheetReader(text, name).read(table)


class _SheetReader:
    """Reads one sheet, and knows on which line each key stands, for the messages."""

    def __init__(self, text: str, name: str) -> None:
        self._text = text
        self._name = name

    def read(self, table: dict[str, object]) -> Sheet:
        self._known(table, _TOP_KEYS, ())
        system = self._choice(table, ("units",), ("miles", "metric"), "miles")
        quantities = default_quantities(cast("UnitSystem", system))
        changes = self._table(table, ("quantity",))
        self._known(changes, [quantity.name for quantity in quantities], ("quantity",))
        only = self._texts(table, ("only",), None)
        for wanted in only or ():
            if wanted not in [quantity.name for quantity in quantities]:
                raise self._error(("only",), f"there is no quantity '{wanted}'" + _near(wanted, quantities))
        chosen = []
        for quantity in quantities:
            if only is not None and quantity.name not in only:
                continue
            change = self._table(changes, ("quantity", quantity.name))
            if not self._bool(change, ("quantity", quantity.name, "off")):
                chosen.append(self._changed(quantity, change))
        lead = self._text_value(table, ("lead",), DEFAULT_LEAD)
        if self._bool(table, ("open",)):
            if "lead" in table:
                raise self._error(("open",), "a sheet has either a lead word or open = true")
            lead = ""
        elif not lead or " " in lead:
            raise self._error(("lead",), "the lead word is one word; use open = true for none")
        notes = self._texts(table, ("notes",), None)
        try:
            phrasebook = Phrasebook(tuple(chosen), lead, (*NOTE_KINDS, *(notes or ())))
            phrasebook.phrase()
        except GrammarError as error:
            raise SheetError(f"{self._name}: {error}") from error
        return Sheet(phrasebook, self._test(self._table(table, ("test",))), self._way(table))

    def _way(self, table: dict[str, object]) -> Way | None:
        if "loop" not in table and "out_and_back" not in table:
            return None
        if "loop" in table and "out_and_back" in table:
            raise self._error(("out_and_back",), "a sheet has either a loop or out_and_back")
        name = "loop" if "loop" in table else "out_and_back"
        way = self._table(table, (name,))
        self._known(way, _LOOP_KEYS if name == "loop" else _OUT_AND_BACK_KEYS, (name,))
        lap_m = None
        if name == "loop":
            if "length" not in way:
                raise self._error((name,), 'length is missing, as in length = "43.5 mi"')
            length, unit = self._amount(way, (name, "length"), ("mi", "km"))
            lap_m = length * METRES[unit]
            if lap_m < LEAST_LAP_M:
                raise self._error((name, "length"), f"must be {LEAST_LAP_M / 1000:g} km or more")
        points = OUT_AND_BACK_RESERVE_POINTS if lap_m is None else LOOP_RESERVE_POINTS
        made = Way(lap_m, points, start=self._place(way, (name, "start")))
        if "reserve" in way:
            reserve, unit = self._amount(way, (name, "reserve"), ("%", "mi", "km"))
            if unit != "%":
                return replace(made, reserve_points=0.0, reserve_m=reserve * METRES[unit])
            if reserve > _MOST_RESERVE_POINTS:
                raise self._error((name, "reserve"), f"must be {_MOST_RESERVE_POINTS:g} % or less")
            return replace(made, reserve_points=reserve)
        return made

    def _amount(
        self, table: dict[str, object], path: tuple[str, ...], units: tuple[str, ...]
    ) -> tuple[float, str]:
        value = table[path[-1]]
        found = _AMOUNT.fullmatch(value) if isinstance(value, str) else None
        if found is None or found[2] not in units:
            raise self._error(path, f'must be a text with a unit ({", ".join(units)}), as in "12 {units[0]}"')
        return float(found[1]), found[2]

    def _place(self, table: dict[str, object], path: tuple[str, ...]) -> tuple[float, float] | None:
        if path[-1] not in table:
            return None
        value = table[path[-1]]
        if (
            not isinstance(value, list)
            or len(value) != 2
            or not all(isinstance(each, int | float) and not isinstance(each, bool) for each in value)
            or not on_earth(*value)
        ):
            raise self._error(path, "must be latitude and longitude in degrees, as in [52.2, 1.7]")
        return float(value[0]), float(value[1])

    def _changed(self, quantity: Quantity, change: dict[str, object]) -> Quantity:
        path = ("quantity", quantity.name)
        self._known(change, _QUANTITY_KEYS, path)
        if "unit" in change and "units" in change:
            raise self._error((*path, "unit"), "give unit or units, not both")
        symbols = self._texts(change, (*path, "units"), None)
        if "unit" in change:
            symbols = (self._text_value(change, (*path, "unit"), ""),)
        if symbols is not None:
            key = "unit" if "unit" in change else "units"
            allowed = {unit.symbol: unit for unit in quantity.units}
            for symbol in symbols:
                if symbol not in allowed:
                    known = "is no unit" if symbol not in UNITS else f"is no unit of {quantity.name}"
                    raise self._error((*path, key), f"'{symbol}' {known}; use one of {', '.join(allowed)}")
            if not symbols:
                raise self._error((*path, key), "at least one unit is needed")
            quantity = replace(quantity, units=tuple(allowed[symbol] for symbol in symbols))
        lowest = self._number(change, (*path, "lowest"), quantity.lowest_plausible)
        highest = self._number(change, (*path, "highest"), quantity.highest_plausible)
        if lowest is not None and highest is not None and lowest > highest:
            raise self._error((*path, "lowest"), f"{lowest} is above highest, {highest}")
        places = self._whole(change, (*path, "decimals"), quantity.places, 0, 3)
        display = self._whole(change, (*path, "display_highest"), quantity.highest, 1, 999_999)
        if quantity.clock and {"decimals", "display_highest", "unit", "units"} & change.keys():
            raise self._error(path, "a clock has no units, decimals or display_highest")
        extra = self._texts(change, (*path, "keywords"), ()) or ()
        if highest is not None and highest > display and quantity.name != "charge":
            display = int(highest)
        return replace(
            quantity,
            lowest_plausible=lowest,
            highest_plausible=highest,
            places=places,
            highest=display,
            keywords=(*quantity.keywords, *(word for word in extra if word not in quantity.keywords)),
        )

    def _test(self, table: dict[str, object]) -> Mapping[str, str | int | float | bool]:
        kept: dict[str, str | int | float | bool] = {}
        for key, value in table.items():
            if not isinstance(value, str | int | float | bool):
                raise self._error(("test", key), "must be a text, a number or true/false")
            kept[key] = value
        return MappingProxyType(kept)

    def _known(
        self, table: dict[str, object], keys: tuple[str, ...] | list[str], path: tuple[str, ...]
    ) -> None:
        for key in table:
            if key not in keys:
                near = process.extractOne(key, keys, score_cutoff=60)
                advice = f"; did you mean '{near[0]}'?" if near else f"; known here: {', '.join(keys)}"
                raise self._error((*path, key), f"is not a key of a sheet{advice}")

    def _table(self, table: dict[str, object], path: tuple[str, ...]) -> dict[str, object]:
        value = table.get(path[-1], {})
        if not isinstance(value, dict):
            raise self._error(path, "must be a table")
        return cast("dict[str, object]", value)

    def _text_value(self, table: dict[str, object], path: tuple[str, ...], default: str) -> str:
        value = table.get(path[-1], default)
        if not isinstance(value, str):
            raise self._error(path, "must be a text in quotes")
        return value

    def _choice(
        self, table: dict[str, object], path: tuple[str, ...], options: tuple[str, ...], default: str
    ) -> str:
        value = self._text_value(table, path, default)
        if value not in options:
            raise self._error(path, f"must be one of {', '.join(options)}, not '{value}'")
        return value

    def _texts(
        self, table: dict[str, object], path: tuple[str, ...], default: tuple[str, ...] | None
    ) -> tuple[str, ...] | None:
        if path[-1] not in table:
            return default
        value = table[path[-1]]
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise self._error(path, "must be a list of texts in quotes")
        return tuple(value)

    def _bool(self, table: dict[str, object], path: tuple[str, ...]) -> bool:
        value = table.get(path[-1], False)
        if not isinstance(value, bool):
            raise self._error(path, "must be true or false")
        return value

    def _number(
        self, table: dict[str, object], path: tuple[str, ...], default: Decimal | None
    ) -> Decimal | None:
        if path[-1] not in table:
            return default
        value = table[path[-1]]
        if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
            raise self._error(path, "must be a number")
        return Decimal(str(value))

    def _whole(
        self, table: dict[str, object], path: tuple[str, ...], default: int, lowest: int, highest: int
    ) -> int:
        value = table.get(path[-1], default)
        if isinstance(value, bool) or not isinstance(value, int) or not lowest <= value <= highest:
            raise self._error(path, f"must be a whole number from {lowest} to {highest}")
        return value

    def _error(self, path: tuple[str, ...], message: str) -> SheetError:
        line = line_of_key(self._text, path)
        where = f"{self._name}:{line}" if line else self._name
        return SheetError(f"{where}: {'.'.join(path)}: {message}")


def _near(wanted: str, quantities: tuple[Quantity, ...]) -> str:
    names = [quantity.name for quantity in quantities]
    near = process.extractOne(wanted, names, score_cutoff=60)
    return f"; did you mean '{near[0]}'?" if near else f"; there are {', '.join(names)}"
