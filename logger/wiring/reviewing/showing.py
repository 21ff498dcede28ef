"""A reviewed drive as the members of JSON objects, for the page; docs/review.md names none of them, since only the page reads them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from logger.core.decided import about_id, those_that_count
from logger.core.deciding import Answering, Ranked
from logger.core.history import STATUS_WORDS, content_text, step_text
from logger.core.rules import told
from logger.core.times import elapsed_text
from logger.core.track import Track
from logger.core.units import METRES, convert_exactly, convertible, first_distances
from logger.core.utc import format_utc
from logger.model import Entry, Origin, Status
from logger.wiring.reviewing.detail import Detail
from logger.wiring.reviewing.drive import Heard, Settled, View

Members = dict[str, object]

_NANO = 1_000_000_000
_POINTS = 600
"""So many points of a line are drawn: more than a chart has pixels."""
_MOST_ANSWERS = 6
_SMOOTH = 10
"""Over so many fixes a speed is made of the way driven."""


def state_members(view: View, name: str, who: str, blocked: str | None) -> Members:
    """Return the whole drive as lists show it, and every entry as a point of a chart."""
    units = units_of(view)
    decided = {about_id(each) for each in those_that_count(view.decisions)}
    along = along_unit(view.heard)
    return {
        "revision": view.revision,
        "name": name,
        "began": format_utc(view.heard.drive.began_utc_ns),
        "who": who,
        "blocked": blocked,
        "along": along,
        "units": units,
        "entries": [
            entry_members(entry)
            | {
                "decided": entry.id in decided,
                "x": _x(view.heard, entry, along),
                "y": _y(entry, units),
            }
            for entry in view.entries
        ],
    }


def entry_members(entry: Entry) -> Members:
    """Return an entry as a list shows it."""
    return {
        "id": entry.id,
        "quantity": entry.quantity,
        "text": content_text(entry.quantity, entry.value, entry.unit, entry.note),
        "value": "" if entry.value is None else told(entry.quantity, entry.value, entry.unit),
        "note": entry.note,
        "status": entry.status.value,
        "status_words": STATUS_WORDS[entry.status],
        "reason": entry.reason,
        "heard": entry.heard,
        "at": elapsed_text(entry.at_ns / _NANO),
        "at_s": entry.at_ns / _NANO,
        "repaired": entry.origin is Origin.REPAIRED,
    }


def detail_members(detail: Detail, view: View) -> Members:
    """Return all there is to say about one entry."""
    along = along_unit(view.heard)
    weighing = detail.explanation.weighing
    near = [] if weighing is None else [("before", weighing.before), ("after", weighing.after)]
    utterance = detail.utterance
    place = detail.place
    return entry_members(detail.entry) | {
        "ranked": [_ranked(each) for each in detail.ranked],
        "none": 0.0 if weighing is None else weighing.none_probability,
        "utc": format_utc(detail.at_utc_ns),
        "lat_deg": None if place is None else place.lat_deg,
        "lon_deg": None if place is None else place.lon_deg,
        "way": None if place is None or along == "h" else f"{place.distance_m / METRES[along]:.1f} {along}",
        "expected": "" if weighing is None else weighing.expected,
        "near": [
            {
                "side": side,
                "id": each.entry_id,
                "text": content_text(each.observed.quantity, each.observed.value, each.observed.unit, ""),
                "at": elapsed_text(each.observed.at_ns / _NANO),
                "away": elapsed_text(each.seconds),
                "way": f"{each.km * 1000 / METRES.get(along, 1000.0):.1f} {along if along != 'h' else 'km'}",
            }
            for side, each in near
            if each is not None
        ],
        "beside": [entry_members(each) for each in (*detail.before, *detail.after)],
        "answers": [
            {"text": each.text, "weight": each.weight} for each in detail.explanation.answers[:_MOST_ANSWERS]
        ],
        "more_answers": max(0, len(detail.explanation.answers) - _MOST_ANSWERS),
        "recogniser": detail.explanation.recogniser,
        "steps": [
            {
                "id": step.decision.id,
                "who": step.decision.who,
                "at": format_utc(step.decision.at_utc_ns),
                "text": step_text(step),
                "withdrawn": step.withdrawn_by is not None,
            }
            for step in detail.steps
        ],
        "sound": utterance.id if utterance is not None and (detail.has_clip or detail.has_more) else None,
        "wide": detail.has_more,
    }


def settled_members(settled: Settled) -> Members:
    """Return what an answer came to."""
    did = settled.effect
    return {
        "about": settled.about,
        "decisions": [decision.id for decision in settled.decisions],
        "vanished": [_changed(old, new) for old, new in did.vanished],
        "appeared": [_changed(old, new) for old, new in did.appeared],
        "changed": [_changed(old, new) for old, new in did.changed],
    }


def track_members(heard: Heard) -> Members:
    """Return speed and altitude along the drive, thinned: of each piece the extremes, in order, and the mean altitude."""
    along = along_unit(heard)
    track = heard.track
    if track is None or along == "h":
        return {"along": along, "speed": [], "speed_unit": "", "altitude": []}
    x = track.distance_m / METRES[along]
    per_hour = 3600.0 / METRES[along]
    return {
        "along": along,
        "length": float(x[-1]),
        "speed": _extremes(x, _speed_mps(track) * per_hour),
        "speed_unit": "mph" if along == "mi" else "km/h",
        "altitude": _extremes(x, track.altitude_m),
    }


def along_unit(heard: Heard) -> str:
    """Return what charts go along: miles or kilometres as the sheet has them, hours where there is no track."""
    if heard.track is None:
        return "h"
    return first_distances(each.unit for each in heard.language.phrasebook.quantities) or "km"


def units_of(view: View) -> Mapping[str, str]:
    """Return the unit that each quantity is drawn in: the one it is mostly told in."""
    return dict(Answering(view.entries, (), view.heard.language, "", 0).usual_units())


def _x(heard: Heard, entry: Entry, along: str) -> float | None:
    if along == "h":
        return entry.at_ns / _NANO / 3600.0
    place = heard.place_at(heard.drive.began_utc_ns + entry.at_ns)
    return None if place is None else place.distance_m / METRES[along]


def _y(entry: Entry, units: Mapping[str, str]) -> float | None:
    unit = units.get(entry.quantity, entry.unit)
    if entry.value is None or not convertible(entry.unit, unit):
        return None
    try:
        return float(convert_exactly(entry.value, entry.unit, unit))
    except ValueError:  # the reciprocal of 0
        return None


def _speed_mps(track: Track) -> NDArray[np.float64]:
    """Return the receiver's speed, or where it gave none that of the way driven, smoothed over some seconds."""
    if np.isfinite(track.speed_mps).any() or len(track.utc_ns) < 2 * _SMOOTH:
        return track.speed_mps
    seconds = (track.utc_ns - track.utc_ns[0]).astype(np.float64) / _NANO
    wide = np.full(len(seconds), np.nan)
    passed = seconds[_SMOOTH:] - seconds[:-_SMOOTH]
    middle = _SMOOTH // 2
    wide[middle : middle + len(passed)] = np.where(
        passed < 4 * _SMOOTH,
        (track.distance_m[_SMOOTH:] - track.distance_m[:-_SMOOTH]) / np.maximum(passed, 1e-3),
        np.nan,
    )
    return wide


def _ranked(each: Ranked) -> Members:
    return {
        "text": content_text(each.quantity, each.value, each.unit, ""),
        "heard": each.heard,
        "probability": each.probability,
        "number": each.number,
    }


def _changed(old: Entry | None, new: Entry | None) -> Members:
    entry = new if new is not None else old
    assert entry is not None
    return {
        "id": entry.id,
        "at": elapsed_text(entry.at_ns / _NANO),
        "before": None if old is None else entry_members(old),
        "after": None if new is None else entry_members(new),
        "in_doubt": entry.status is Status.FLAGGED,
    }


def _extremes(x: NDArray[np.float64], y: NDArray[np.float64]) -> list[list[float]]:
    """Return a line of at most two points for each piece of the way, its lowest and highest, in their order."""
    known = np.flatnonzero(np.isfinite(y))
    if not len(known):
        return []
    edges = np.linspace(0, len(known), min(len(known), _POINTS // 2) + 1).astype(np.int64)
    kept: list[int] = []
    for begin, end in pairwise(edges.tolist()):
        piece = known[begin:end]
        if len(piece):
            kept += sorted({int(piece[np.argmin(y[piece])]), int(piece[np.argmax(y[piece])])})
    return [[_short(float(x[at])), _short(float(y[at]))] for at in kept]


def _short(value: float) -> float:
    return round(value, 3) if math.isfinite(value) else 0.0
