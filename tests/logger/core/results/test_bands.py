"""Distance by bands of charge and by leg, worked out by hand."""

from __future__ import annotations

import pytest
from read_drives import Said, charges, seen, straight_track

from logger.core.results.bands import bands, section
from logger.core.results.basis import basis_of
from logger.core.results.figures import Absent, Figure
from logger.core.way import Way


def uneven() -> list[Said]:
    """Down to 0 %: 5 km a point above 60 %, 4 km below."""
    rows: list[Said] = [(0.0, "charge", "100", "%")]
    for percent in range(99, -1, -1):
        used = 99.5 - percent
        rows.append(
            (used * 5.0 if used < 39.5 else 39.5 * 5.0 + (used - 39.5) * 4.0, "charge", str(percent), "%")
        )
    return rows


def test_bands() -> None:
    """Each band's distance on a point is what was driven, within its interval and 3 %."""
    told = bands(basis_of(seen(uneven(), track=straight_track(460.0))))

    assert [(100, 80), (80, 60), (60, 40), (40, 20), (20, 0)] == [
        (each.from_pct, each.to_pct) for each in told
    ]
    for band, km in zip(told, (5.0, 5.0, 4.0, 4.0, 4.0), strict=True):
        assert pytest.approx(km, rel=0.03) == band.per_point.value
        # The display changed just where the rate did, and was called at once: a hundredth on either side for that.
        assert band.per_point.low * 0.99 <= km <= band.per_point.high * 1.01


def test_best_and_worst() -> None:
    """The best band is one of the upper two; the mean of the whole is between best and worst."""
    told = section(basis_of(seen(uneven(), track=straight_track(460.0))))
    best, worst, overall = (told.answer(key) for key in ("best_band", "worst_band", "per_point"))

    assert isinstance(best, Figure)
    assert isinstance(worst, Figure)
    assert isinstance(overall, Figure)
    assert worst.value < overall.value < best.value
    assert pytest.approx((39.5 * 5.0 + 60.0 * 4.0) / 99.5, rel=0.01) == overall.value


def test_as_far_as_read() -> None:
    """Read from 90 to 50 %: bands end where reading did."""
    told = bands(basis_of(seen(charges(4.0, range(90, 49, -1), first=90), track=straight_track(200.0))))

    assert [(90, 80), (80, 60), (60, 50)] == [(each.from_pct, each.to_pct) for each in told]


def test_out_and_back() -> None:
    """5 km a point out with the wind, 4 km back: the ratio is 1.25, within the rounding."""
    rows = [(5.0 * (100 - each), "charge", str(each), "%") for each in range(100, 59, -1)]
    rows += [(200.0 + 4.0 * (60 - each), "charge", str(each), "%") for each in range(59, 9, -1)]
    drive = seen(rows, track=straight_track(400.0, back_from_km=200.0), way=Way(None, 20.0))
    told = section(basis_of(drive))
    ratio = told.answer("out_over_back")

    assert isinstance(ratio, Figure)
    assert pytest.approx(1.25, rel=0.02) == ratio.value
    assert ratio.low is not None
    assert ratio.high is not None
    assert ratio.low < 1.25 < ratio.high
    assert ("out", "back") == told.tables[1].column("leg")


def test_one_way() -> None:
    """A drive with no way told and no note has no legs."""
    told = section(basis_of(seen(uneven(), track=straight_track(460.0))))

    assert isinstance(told.answer("out_over_back"), Absent)
    assert 1 == len(told.tables)


def test_too_little() -> None:
    """Two points used are no band."""
    told = section(basis_of(seen(uneven()[:3], track=straight_track(20.0))))

    assert () == told.tables
    assert isinstance(told.answer("best_band"), Absent)
