"""The call-out card: what may be said, with examples made from the language itself."""

from __future__ import annotations

from grammar.phrasebook import Phrasebook
from grammar.readings import Quantity

_EXAMPLE_NUMBER = {
    "charge": "sixty three",
    "trip": "ninety seven point two",
    "odometer": "twelve thousand four hundred and twenty one",
    "range_left": "one oh nine",
    "energy_used": "forty one point five",
    "outside_temperature": "minus four",
    "battery_temperature": "seventy one",
    "indicated_speed": "sixty seven",
    "clock": "seven forty a m",
}
_EXAMPLE_EFFICIENCY = {
    "mi/kWh": "three point four",
    "km/kWh": "five point five",
    "kWh/100km": "eighteen point two",
    "Wh/mi": "two ninety five",
    "Wh/km": "one eighty five",
}


def example_of(quantity: Quantity) -> str:
    """Return one way to call a quantity out, lead word left out, in its first unit."""
    unit = quantity.units[0]
    number = _EXAMPLE_EFFICIENCY.get(unit.symbol) or _EXAMPLE_NUMBER[quantity.name]
    if quantity.clock:
        return f"{quantity.keywords[0]} {number}"
    said_unit = "degrees" if unit.symbol.startswith("deg") else unit.phrases[0]
    if quantity.bare:
        return " ".join((number, said_unit, *quantity.after[:1]))
    if quantity.unit_needed or quantity.name.endswith("temperature"):
        return f"{quantity.keywords[-1]} {number} {said_unit}"
    return f"{quantity.keywords[0]} {number}"


def card(phrasebook: Phrasebook) -> str:
    """Return the call-out card as plain text, ready to print."""
    lead = f"{phrasebook.lead} " if phrasebook.lead else ""
    width = max(len(quantity.name) for quantity in phrasebook.quantities)
    lines = ["CALL-OUT CARD", ""]
    if phrasebook.lead:
        lines += [f'A call starts with "{phrasebook.lead}". One or more readings follow, in any order.']
    else:
        lines += ["A call is one or more readings, in any order; there is no lead word."]
    lines += ["", f"{'reading':<{width}}  say, for example"]
    lines += [
        f"{quantity.name:<{width}}  {lead}{example_of(quantity)}    [{', '.join(_symbols(quantity))}]".rstrip()
        for quantity in phrasebook.quantities
    ]
    lines += [
        "",
        "put right     correction sixty four percent   (replaces the newest reading of that kind)",
        "withdraw      strike that                     (the newest call)",
        f"mark          note {phrasebook.notes[0]:<26} (the next seconds of sound are kept)"
        if phrasebook.notes
        else "",
        "ask           say again / how far",
    ]
    if phrasebook.notes:
        lines += ["", "notes         " + ", ".join(phrasebook.notes)]
    lines += [
        "",
        "numbers       two hundred and seven, two oh seven, two zero seven; one fifty three point eight;",
        "              a hundred; three point oh five; minus four; sixty three and a half; half past seven",
        "",
        "Set up while parked. Eyes on the road: nothing on a screen is needed while driving.",
    ]
    return "\n".join(lines) + "\n"


def _symbols(quantity: Quantity) -> list[str]:
    return ["hh:mm"] if quantity.clock else [unit.symbol for unit in quantity.units]
