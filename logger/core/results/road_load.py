"""What wind, climb, air and an uneven speed cost, as estimates by the road-load equation. Pure."""

from __future__ import annotations

from logger.core.results.air import REFERENCE_C, REFERENCE_PA
from logger.core.results.car_load import CarLoad
from logger.core.results.costs import PARTS, Cost, Costs, costs_of
from logger.core.results.figures import Absent, Answer, Line, Section
from logger.core.results.observed import Observed
from logger.core.results.telling import within

LABELS = {
    "wind": "Wind",
    "climb": "Climb and descent",
    "air": "Air density",
    "temperature": "Air temperature, part of air density",
    "speed": "Uneven speed and stops",
}
COVERS = "the car's numbers, the wind, the air and the altitude as far off as they may be, not the road-load equation itself"


def road_load(seen: Observed) -> Section:
    """Return what each thing cost in Wh/km and in percent of the range."""
    costs = costs_of(seen)
    lines = [Line("drawn", "Consumption by road load", _answer(costs, None, "Wh/km"))]
    for name in PARTS:
        lines.append(Line(f"{name}_cost", f"{LABELS[name]}: cost", _answer(costs, name, "Wh/km")))
        lines.append(Line(f"{name}_share", f"{LABELS[name]}: of the range", _answer(costs, name, "%")))
    remarks = () if isinstance(costs, str) else remarks_of(costs.load)
    return Section("road_load", "What conditions cost", tuple(lines), remarks=remarks)


def _answer(costs: Costs | str, name: str | None, unit: str) -> Answer:
    if isinstance(costs, str):
        return Absent(costs)
    cost: Cost | str = costs.drawn
    if name is not None:
        cost = costs.parts[name] if unit == "Wh/km" else costs.shares[name]
    if isinstance(cost, str):
        return Absent(cost)
    return within(cost.value, unit, cost.sd, COVERS, estimate=True, remark=_REMARKS.get(name or "", ""))


_REMARKS = {
    "wind": "Against calm air.",
    "climb": "Against a level road.",
    "air": f"Against {REFERENCE_C:g} degC and {REFERENCE_PA / 1000.0:g} kPa (SAE J2263).",
    "temperature": f"Against {REFERENCE_C:g} degC at the same pressure, by the air alone.",
    "speed": "Against the same mean speed held all the way without a stop.",
}


def remarks_of(load: CarLoad) -> tuple[str, ...]:
    """Return what the estimates of a car rest on."""
    remarks = [
        "These are estimates by the road-load equation; each is the drive as it was less the same drive without that one thing."
    ]
    if load.car_class is not None:
        remarks.append(
            f"What the sheet does not tell of the car is assumed for its class, {load.car_class}; such estimates are rough."
        )
    if load.told:
        remarks.append(f"The sheet tells {', '.join(name.replace('_', ' ') for name in load.told)}.")
    remarks.append(
        "What a cold or hot battery, cabin, tyre or driveline costs is not known here and in none of these; it can be more than the air's part."
    )
    return tuple(remarks)
