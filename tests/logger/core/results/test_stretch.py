"""Which part of a drive counts."""

from __future__ import annotations

from read_drives import seen

from logger.core.results.stretch import stretch_of


def test_the_whole_drive() -> None:
    """Without charging it is the whole drive, and nothing is to be said of it."""
    stretch = stretch_of(seen([(1.0, "charge", "99", "%"), (100.0, "charge", "70", "%")]))

    assert (0.0, float("inf"), ()) == (stretch.from_s, stretch.to_s, stretch.remarks)
    assert stretch.zero is None
    assert not stretch.begins_full


def test_a_noted_charging_stop() -> None:
    """What was driven before the stop is left out, and that is said; the stretch begins where unplugging was noted."""
    drive = seen(
        [
            (1.0, "charge", "90", "%"),
            (100.0, "charge", "60", "%"),
            (101.0, "note", "charging"),
            (101.5, "note", "unplugged"),
            (102.0, "charge", "100", "%"),
            (200.0, "charge", "75", "%"),
        ]
    )
    stretch = stretch_of(drive)

    assert [100.0, 75.0] == [each.value for each in stretch.charges]
    assert drive.notes[1].at_s == stretch.from_s
    assert "noted charging stop" in stretch.remarks[0]
    assert stretch.begins_full


def test_charging_seen_by_the_charge() -> None:
    """A charge that rises by 3 points was charged; by 2 it came down a mountain."""
    charged = stretch_of(
        seen([(1.0, "charge", "60", "%"), (50.0, "charge", "63", "%"), (99.0, "charge", "50", "%")])
    )
    descent = stretch_of(
        seen([(1.0, "charge", "60", "%"), (50.0, "charge", "62", "%"), (99.0, "charge", "50", "%")])
    )

    assert [63.0, 50.0] == [each.value for each in charged.charges]
    assert "(no charging was noted)" in charged.remarks[0]
    assert 3 == len(descent.charges)


def test_a_slow_rise_is_charging_too() -> None:
    """Two points twice are four above the least."""
    stretch = stretch_of(
        seen(
            [
                (1.0, "charge", "60", "%"),
                (2.0, "charge", "62", "%"),
                (3.0, "charge", "64", "%"),
                (99.0, "charge", "40", "%"),
            ]
        )
    )

    assert 64.0 == stretch.charges[0].value


def test_charged_at_the_end() -> None:
    """A test is over when the car is charged: what follows, with hardly anything used, does not count."""
    stretch = stretch_of(
        seen(
            [
                (0.0, "charge", "100", "%"),
                (400.0, "charge", "0", "%"),
                (405.0, "note", "charging"),
                (405.1, "charge", "20", "%"),
                (406.0, "charge", "19", "%"),
            ]
        )
    )

    assert 1 == stretch.zero
    assert "does not count" in stretch.remarks[-1]
    assert stretch.to_s < 405.0 * 36.0 + 1.0


def test_charging_noted_last() -> None:
    """A stop noted after the last charge ends the stretch as well."""
    drive = seen([(0.0, "charge", "100", "%"), (300.0, "charge", "20", "%"), (301.0, "note", "charging")])

    assert drive.notes[0].at_s == stretch_of(drive).to_s


def test_nothing_read() -> None:
    """Without any charge there is a stretch all the same."""
    assert () == stretch_of(seen([])).charges
