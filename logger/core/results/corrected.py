"""Consumption and range brought to reference conditions, as an estimate. Pure."""

from __future__ import annotations

from math import hypot

from logger.core.results.air import REFERENCE_C, REFERENCE_PA
from logger.core.results.costs import PARTS, Cost, Costs, costs_of, ratio_of
from logger.core.results.figures import Absent, Answer, Figure, Line, Section
from logger.core.results.observed import Observed
from logger.core.results.road_load import COVERS, LABELS, remarks_of
from logger.core.results.telling import Z95, within
from logger.core.results.told import told_by

_NO_RANGE = "The drive tells no range to correct."
_LEAST_RATIO, _MOST_RATIO = 0.2, 5.0
_UNLIKE = "The drive was so unlike the reference that bringing it there says nothing."
_LEAST_KM, _MOST_KM = 0.1, 1e5
_PARTS = tuple(name for name in PARTS if name != "temperature")
_LABELS = {
    **{f"{name}_correction": f"{LABELS[name]}: correction of the range" for name in _PARTS},
    "correction": "Correction of the range, all together",
    "consumption": "Consumption as driven",
    "corrected_consumption": "Consumption at reference conditions",
    "corrected_range": "Range at reference conditions",
}


def corrected(seen: Observed, range_km: float | None, range_sd_km: float = 0.0) -> Section:
    """Return what consumption and range would have been at reference conditions.

    Args:
        seen: the drive.
        range_km: the range to correct; None where the drive tells none.
        range_sd_km: its standard deviation, which the intervals then carry too.
    """
    if range_km is not None and not _tellable(range_km):
        range_km = None
    costs = costs_of(seen)
    driven = _as_driven(seen, range_km)
    if isinstance(costs, str):
        absent: dict[str, Answer] = {key: Absent(costs) for key in _LABELS}
        return _section({**absent, "consumption": driven}, ())
    answers: dict[str, Answer] = {"consumption": driven}
    for name in _PARTS:
        part, why = costs.corrections.get(name), costs.parts[name]
        answers[f"{name}_correction"] = (
            Absent(str(why)) if part is None else within(part.value, "%", part.sd, COVERS, estimate=True)
        )
    answers["correction"] = within(
        costs.together.value,
        "%",
        costs.together.sd,
        COVERS,
        estimate=True,
        remark="Above 0, the range would have been longer.",
    )
    ratio = costs.ratio.value
    if not _LEAST_RATIO <= ratio <= _MOST_RATIO:
        answers["corrected_consumption"] = answers["corrected_range"] = Absent(_UNLIKE)
        return _section(answers, _remarks(costs))
    if isinstance(driven, Figure) and range_km is not None:
        beyond = f"{_covers(range_sd_km)}, nor the usable energy"
        sd = driven.value * _sd(costs.ratio, range_km, range_sd_km)
        driven = within(driven.value * ratio, "Wh/km", sd, beyond, estimate=True)
    answers["corrected_consumption"] = driven
    answers["corrected_range"] = _at_reference(costs.ratio, range_km, range_sd_km)
    return _section(answers, _remarks(costs))


def corrected_range(seen: Observed, range_km: float | None, range_sd_km: float = 0.0) -> Section:
    """Return of `corrected` the range alone, in a fraction of its time."""
    ratio = ratio_of(seen)
    answer = Absent(ratio) if isinstance(ratio, str) else _at_reference(ratio, range_km, range_sd_km)
    return _section({"corrected_range": answer}, ())


def _at_reference(ratio: Cost, range_km: float | None, range_sd_km: float) -> Answer:
    if not _LEAST_RATIO <= ratio.value <= _MOST_RATIO:
        return Absent(_UNLIKE)
    if range_km is None or not _tellable(range_km):
        return Absent(_NO_RANGE)
    sd = _sd(ratio, range_km, range_sd_km)
    low, high = (range_km / max(ratio.value + way * Z95 * sd, _LEAST_RATIO / 2.0) for way in (1.0, -1.0))
    return Figure(range_km / ratio.value, "km", low, high, _covers(range_sd_km), estimate=True)


def _sd(ratio: Cost, range_km: float, range_sd_km: float) -> float:
    """Return the standard deviation of the ratio with that of the range in it: they come from different readings, so variances add up."""
    return hypot(ratio.sd, ratio.value * range_sd_km / range_km)


def _covers(range_sd_km: float) -> str:
    return COVERS if range_sd_km > 0.0 else f"{COVERS}, nor the range"


def _tellable(range_km: float) -> bool:
    return _LEAST_KM <= range_km <= _MOST_KM


def _as_driven(seen: Observed, range_km: float | None) -> Answer:
    """Return the consumption as it was."""
    if range_km is None:
        return Absent(_NO_RANGE)
    usable = told_by(seen.test).get("usable")
    if usable is None:
        return Absent("The sheet tells no usable energy; write usable_kwh.")
    return Figure(1000.0 * usable / range_km, "Wh/km", remark="Usable energy over range.")


def _section(answers: dict[str, Answer], remarks: tuple[str, ...]) -> Section:
    lines = tuple(Line(key, label, answers[key]) for key, label in _LABELS.items() if key in answers)
    return Section("corrected", "At reference conditions", lines, remarks=remarks)


def _remarks(costs: Costs) -> tuple[str, ...]:
    left_out = [
        LABELS[name].lower() for name in ("wind", "climb", "air") if isinstance(costs.parts[name], str)
    ]
    air = f"{REFERENCE_C:g} degC and {REFERENCE_PA / 1000.0:g} kPa (SAE J2263), dry"
    remarks = [
        f"Reference: {air}, no wind, level, {costs.speed_kmh:.1f} km/h held all the way.",
        "The parts need not add up to the whole: each is taken alone, and drag is no sum.",
    ]
    if left_out:
        remarks.append(f"Not corrected, because it is not known: {', '.join(left_out)}.")
    return (*remarks, *remarks_of(costs.load))
