"""What gpsd's JSON lines mean: bytes in, fixes and changes of reception out. No socket and no clock in here.

The protocol is gpsd's published one (its manual page gpsd_json, protocol 3): one JSON object a line, of class VERSION,
DEVICES, DEVICE, TPV (a position) or SKY (the satellites), among others that are passed over. gpsd may tell one instant
more than once, each time with more (three times for the first, as measured with 3.22), so a position is held until another
instant begins or a moment has passed.
"""

from __future__ import annotations

import json
import math
from typing import Any, TypeAlias

from logger.core.fixes import on_earth
from logger.core.utc import parse_utc_ns
from logger.model import Fix, LiveFix, Reception, ReceptionChange

Event: TypeAlias = LiveFix | ReceptionChange

SILENT_S = 3.0
"""Without a report for so long, the last one says nothing of now."""
_SETTLED_S = 0.3
_LONGEST_LINE = 1 << 16
_NANO = 1_000_000_000


class GpsdReports:
    """The reports of one connection to gpsd. It never raises for what came: a line that is none is counted."""

    def __init__(self, began_mono_ns: int) -> None:
        self.release: str | None = None
        """gpsd's version, None until it has said it."""
        self.devices: tuple[str, ...] = ()
        self.malformed = 0
        """Lines that were no JSON object, or a position without what it must have."""
        self.reception: Reception | None = None
        self._rest = b""
        self._skipping = False
        self._held: LiveFix | None = None
        self._hdop: tuple[int, float | None] = (0, None)
        self._reported_mono_ns = began_mono_ns
        self._device = ""

    def feed(self, data: bytes, mono_ns: int, utc_ns: int) -> tuple[Event, ...]:
        """Take bytes as they came, with the monotonic and the wall clock at that moment."""
        events: list[Event] = []
        *lines, self._rest = (self._rest + data).split(b"\n")
        for line in lines:
            if self._skipping:
                self._skipping = False
            elif line.strip():
                self._line(line, mono_ns, utc_ns, events)
        if len(self._rest) > _LONGEST_LINE:
            if not self._skipping:
                self.malformed += 1
            self._rest, self._skipping = b"", True
        return tuple(events)

    def tick(self, mono_ns: int) -> tuple[Event, ...]:
        """Let time pass: a held position is settled after a moment, and a receiver may have fallen silent."""
        events: list[Event] = []
        if self._held is not None and mono_ns - self._held.arrived_mono_ns >= _SETTLED_S * _NANO:
            self._give_out(events)
        silent_s = (mono_ns - self._reported_mono_ns) / _NANO
        if silent_s > SILENT_S and self.reception in {
            Reception.NO_FIX,
            Reception.FIX_2D,
            Reception.FIX_3D,
        }:
            what = f"{self._device or 'the receiver'} has reported nothing for {silent_s:.0f} s"
            self._change(Reception.SILENT, what, mono_ns, events)
        return tuple(events)

    def _line(self, line: bytes, mono_ns: int, utc_ns: int, events: list[Event]) -> None:
        try:
            report = json.loads(line)
        except (ValueError, RecursionError):
            self.malformed += 1
            return
        if not isinstance(report, dict):
            self.malformed += 1
            return
        match report.get("class"):
            case "VERSION":
                self.release = str(report.get("release", "of unknown version"))
            case "DEVICES":
                found = report.get("devices")
                self._take_devices(found if isinstance(found, list) else [], mono_ns, events)
            case "DEVICE":
                self._take_device(report, mono_ns, events)
            case "TPV":
                self._take_position(report, mono_ns, utc_ns, events)
            case "SKY":
                if (hdop := _number(report, "hdop")) is not None:
                    self._hdop = (mono_ns, hdop)

    def _take_devices(self, found: list[Any], mono_ns: int, events: list[Event]) -> None:
        self.devices = tuple(str(each["path"]) for each in found if isinstance(each, dict) and "path" in each)
        if not self.devices:
            self._give_out(events)  # first, or its fix would come after the receiver has gone
            self._change(Reception.NO_DEVICE, "gpsd has no receiver", mono_ns, events)
        elif self.reception in {None, Reception.NO_DEVICE}:
            what = f"nothing has come from {', '.join(self.devices)} yet"
            self._change(Reception.SILENT, what, mono_ns, events)

    def _take_device(self, report: dict[str, Any], mono_ns: int, events: list[Event]) -> None:
        """One receiver has come, or has gone: `activated` is then 0."""
        path = str(report.get("path", ""))
        others = [each for each in self.devices if each != path]
        left = others if report.get("activated") == 0 else [*others, path]
        self._take_devices([{"path": each} for each in left], mono_ns, events)

    def _take_position(self, report: dict[str, Any], mono_ns: int, utc_ns: int, events: list[Event]) -> None:
        device = str(report.get("device", ""))
        fresh = mono_ns - self._reported_mono_ns < SILENT_S * _NANO
        if self._device and device != self._device and fresh:
            return  # of two receivers the first one counts, as long as it reports
        mode = report.get("mode")
        if not isinstance(mode, int) or isinstance(mode, bool):
            self.malformed += 1
            return
        self._device, self._reported_mono_ns = device, mono_ns
        if mode < 2:
            self._give_out(events)
            self._change(Reception.NO_FIX, f"{device or 'the receiver'} has no fix yet", mono_ns, events)
            return
        fix = _fix(report, self._fresh_hdop(mono_ns))
        if fix is None:
            self.malformed += 1
            return
        if self._held is not None and self._held.fix.utc_ns != fix.utc_ns:
            self._give_out(events)
        first = self._held
        self._held = LiveFix(
            fix=fix,
            mode=min(mode, 3),
            eph_m=_error(report, "eph"),
            epx_m=_error(report, "epx"),
            epy_m=_error(report, "epy"),
            arrived_mono_ns=mono_ns if first is None else first.arrived_mono_ns,
            arrived_utc_ns=utc_ns if first is None else first.arrived_utc_ns,
        )

    def _fresh_hdop(self, mono_ns: int) -> float | None:
        at_ns, hdop = self._hdop
        return hdop if mono_ns - at_ns < SILENT_S * _NANO else None

    def _give_out(self, events: list[Event]) -> None:
        if (held := self._held) is None:
            return
        self._held = None
        # Only now: what came first of an instant may lack the altitude that the rest brings.
        reception = Reception.FIX_2D if held.mode == 2 else Reception.FIX_3D
        self._change(reception, f"{self._device or 'the receiver'} has a fix", held.arrived_mono_ns, events)
        events.append(held)

    def _change(self, reception: Reception, detail: str, mono_ns: int, events: list[Event]) -> None:
        if reception is not self.reception:
            self.reception = reception
            events.append(ReceptionChange(reception, detail, mono_ns))


def _fix(report: dict[str, Any], hdop: float | None) -> Fix | None:
    """Return a position, None where it lacks its time or place. Absent stays absent: there is no 0 m for no altitude."""
    lat_deg, lon_deg = _number(report, "lat"), _number(report, "lon")
    if lat_deg is None or lon_deg is None or not on_earth(lat_deg, lon_deg):
        return None
    try:
        utc_ns = parse_utc_ns(str(report.get("time", "")))
    except ValueError:
        return None
    altitude_m = _number(report, "altMSL")
    speed_mps = _number(report, "speed")
    return Fix(
        utc_ns=utc_ns,
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        altitude_m=_number(report, "alt") if altitude_m is None else altitude_m,
        speed_mps=None if speed_mps is None or speed_mps < 0.0 else speed_mps,
        hdop=hdop,
    )


def _error(report: dict[str, Any], key: str) -> float | None:
    value = _number(report, key)
    return None if value is None or value < 0.0 else value


def _number(report: dict[str, Any], key: str) -> float | None:
    value = report.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None
