"""Lines of gpsd: as recorded from gpsd 3.22, as its manual allows, and broken ones."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest

from logger.core.utc import format_utc
from logger.model import LiveFix, Reception, ReceptionChange
from logger.receivers.gpsd_reports import GpsdReports

NANO = 1_000_000_000
VERSION = {"class": "VERSION", "release": "3.22", "rev": "3.22", "proto_major": 3, "proto_minor": 14}
DEVICES = {"class": "DEVICES", "devices": [{"class": "DEVICE", "path": "/dev/ttyACM0"}]}
TPV = {
    "class": "TPV", "device": "/dev/ttyACM0", "mode": 3, "time": "2026-05-03T09:00:00.250Z", "ept": 0.005,
    "lat": 52.2, "lon": 1.7, "altHAE": 55.5, "altMSL": 11.5, "alt": 11.5, "epx": 14.417, "epy": 10.98, "epv": 29.9,
    "track": 84.4, "speed": 25.002, "eph": 17.1,
}  # fmt: skip
SKY = {"class": "SKY", "device": "/dev/ttyACM0", "hdop": 0.9, "nSat": 8, "uSat": 8}


def line(report: Any) -> bytes:
    """A report as gpsd writes it."""
    return json.dumps(report).encode() + b"\r\n"


def without(*keys: str) -> dict[str, Any]:
    """The position without some of its members."""
    return {key: value for key, value in TPV.items() if key not in keys}


def fixes_of(*reports: Any) -> tuple[list[LiveFix], GpsdReports]:
    """The positions that these reports give, after a second."""
    told = GpsdReports(0)
    events = [event for report in reports for event in told.feed(line(report), NANO, 7 * NANO)]
    events += told.tick(2 * NANO)
    return [event for event in events if isinstance(event, LiveFix)], told


def test_a_position_has_everything() -> None:
    """Every member is where it belongs."""
    (live,), told = fixes_of(VERSION, DEVICES, SKY, TPV)
    fix = live.fix

    assert "2026-05-03T09:00:00.250Z" == format_utc(fix.utc_ns)
    assert (52.2, 1.7, 11.5, 25.002, 0.9) == (
        fix.lat_deg,
        fix.lon_deg,
        fix.altitude_m,
        fix.speed_mps,
        fix.hdop,
    )
    assert (3, 17.1, 14.417, 10.98) == (live.mode, live.eph_m, live.epx_m, live.epy_m)
    assert (NANO, 7 * NANO) == (live.arrived_mono_ns, live.arrived_utc_ns)
    assert ("3.22", ("/dev/ttyACM0",), 0) == (told.release, told.devices, told.malformed)


def test_absent_is_none_and_never_zero() -> None:
    """A position with time and place alone is one; what it lacks is None, and so is what is no number."""
    (live,), _ = fixes_of(
        without("altHAE", "altMSL", "alt", "epx", "epy", "speed") | {"mode": 2, "eph": "n/a", "speed": -1.0}
    )

    assert (None, None, None, None, None, None) == (
        live.fix.altitude_m,
        live.fix.speed_mps,
        live.fix.hdop,
        live.eph_m,
        live.epx_m,
        live.epy_m,
    )


def test_one_instant_is_told_once_with_its_last_word() -> None:
    """Three reports of one instant, the next instant, and the moment of the first report of each."""
    told = GpsdReports(0)
    events: list[LiveFix | ReceptionChange] = []
    for index, report in enumerate(
        [without("eph", "alt", "altMSL"), without("eph"), TPV, TPV | {"time": "2026-05-03T09:00:01.250Z"}]
    ):
        events += told.feed(line(report), NANO + index, 5)
    first = [event for event in events if isinstance(event, LiveFix)]

    assert [(NANO, 17.1)] == [(live.arrived_mono_ns, live.eph_m) for live in first]
    assert () == told.tick(NANO + 100)
    second = told.tick(2 * NANO)[-1]
    assert isinstance(second, LiveFix)
    assert NANO + 3 == second.arrived_mono_ns
    assert () == told.tick(2 * NANO + 1)


def test_bytes_may_come_in_any_pieces() -> None:
    """Cut anywhere, also inside a letter of two bytes: the same events."""
    stream = line(VERSION) + line(DEVICES | {"ö": "ü"}) + line(SKY) + line(TPV) + b"\n"
    whole = GpsdReports(0).feed(stream, NANO, 1)
    rng = random.Random(4)
    for _ in range(50):
        told = GpsdReports(0)
        cuts = sorted(rng.sample(range(len(stream)), 6))
        pieces = [stream[begin:end] for begin, end in zip([0, *cuts], [*cuts, len(stream)], strict=True)]

        assert whole == tuple(event for piece in pieces for event in told.feed(piece, NANO, 1))
        assert told.malformed == 0


@pytest.mark.parametrize(
    "bad",
    [
        b"nonsense\n",
        b'{"class":"TPV"\n',
        b"[]\n",
        b"17\n",
        b"\xff\xfe\x00\n",
        b"[" * 30_000 + b"\n",
        b"x" * 200_000 + b"\n",
        line(without("lat")),
        line(without("time")),
        line(without("mode")),
        line(TPV | {"mode": True}),
        line(TPV | {"lat": 91.0}),
        line(TPV | {"lon": "1.7"}),
        line(TPV | {"time": "yesterday"}),
        line(TPV | {"time": 1}),
        line(TPV).replace(b"52.2", b"NaN"),
        line(TPV).replace(b"52.2", b"1" + b"0" * 400),
    ],
    ids=lambda bad: bad[:30].decode("ascii", "replace"),
)
def test_a_bad_line_is_counted_and_the_next_one_is_read(bad: bytes) -> None:
    """No line makes it raise or lose the next; it counts as one."""
    told = GpsdReports(0)
    assert [] == [event for event in told.feed(bad, NANO, 1) if isinstance(event, LiveFix)]
    assert told.malformed == 1

    told.feed(line(TPV), NANO, 1)
    assert any(isinstance(event, LiveFix) for event in told.tick(2 * NANO))
    assert told.malformed == 1


def test_other_classes_are_no_mistakes() -> None:
    """What is not asked for is passed over: it is in the protocol, or will be."""
    told = GpsdReports(0)

    for kind in ("WATCH", "PPS", "TOFF", "ERROR", "ATT", "LATER", None):
        assert () == told.feed(line({"class": kind}), NANO, 1)
    assert told.malformed == 0


def test_what_is_said_of_the_receiver() -> None:
    """From none to a fix and back: each change once, and a device that goes is gone."""
    told = GpsdReports(0)
    steps: list[tuple[bytes, int, Reception | None]] = [
        (line({"class": "DEVICES", "devices": []}), 0, Reception.NO_DEVICE),
        (line({"class": "DEVICES", "devices": []}), 1, None),
        (line({"class": "DEVICE", "path": "/dev/ttyACM0", "activated": "2026-05-03T09:00:00Z"}), 2, Reception.SILENT),
        (line({"class": "TPV", "mode": 0}), 3, Reception.NO_FIX),
        (line({"class": "TPV", "mode": 1}), 4, None),
        (line(TPV | {"mode": 2, "device": ""}), 5, Reception.FIX_2D),
        (line(TPV | {"device": ""}), 6, Reception.FIX_3D),
        (b"", 10, Reception.SILENT),
        (b"", 14, None),
        (line(TPV | {"device": "", "mode": 4}), 15, Reception.FIX_3D),
        (line({"class": "DEVICE", "path": "/dev/ttyACM0", "activated": 0}), 16, Reception.NO_DEVICE),
    ]  # fmt: skip
    for data, at_s, expected in steps:
        events = told.feed(data, at_s * NANO, 1) + told.tick(at_s * NANO + NANO // 2)
        changes = [event.reception for event in events if isinstance(event, ReceptionChange)]

        assert ([] if expected is None else [expected]) == changes


def test_a_receiver_that_is_unplugged_does_not_come_back_for_a_moment() -> None:
    """A fix that waited to be completed when its receiver went comes before the news of that, not after."""
    told = GpsdReports(0)
    told.feed(
        line({"class": "DEVICES", "devices": [{"path": "/dev/ttyACM0"}]})
        + line(TPV | {"device": "/dev/ttyACM0"}),
        NANO,
        1,
    )
    gone = told.feed(line({"class": "DEVICE", "path": "/dev/ttyACM0", "activated": 0}), NANO + 1, 1)

    assert [Reception.FIX_3D, None, Reception.NO_DEVICE] == [
        getattr(each, "reception", None) for each in gone
    ]
    assert () == told.tick(2 * NANO)


def test_the_first_of_two_receivers_counts_until_it_is_silent() -> None:
    """A second receiver's fixes are left out while the first one reports, and taken when it no longer does."""
    told = GpsdReports(0)
    other = TPV | {"device": "/dev/ttyUSB1", "lat": 10.0}
    lats = []
    for at_s, report in enumerate(
        [TPV, other, TPV | {"time": "2026-05-03T09:00:02Z"}, other]
        + [other | {"time": f"2026-05-03T09:00:0{second}Z"} for second in range(3, 8)]
    ):
        events = told.feed(line(report), at_s * NANO, 1) + told.tick(at_s * NANO + NANO // 2)
        lats += [event.fix.lat_deg for event in events if isinstance(event, LiveFix)]

    assert [52.2, 52.2] == lats[:2]
    assert {10.0} == set(lats[2:])
    assert lats[2:]


def test_an_old_hdop_is_not_used() -> None:
    """Satellites seen long ago say nothing of now."""
    told = GpsdReports(0)
    told.feed(line(SKY), NANO, 1)
    told.feed(line(TPV), 10 * NANO, 1)
    live = told.tick(11 * NANO)[-1]

    assert isinstance(live, LiveFix)
    assert live.fix.hdop is None
