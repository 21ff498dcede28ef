"""What goes on a map: pieces without gaps, lines that do not cross the antimeridian, checkpoints in words."""

from __future__ import annotations

import itertools

import pytest
from charted import ENTRIES, chart, eastward
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from logger.core.chart import checkpoints_of, cut_at_the_antimeridian, pieces
from logger.core.rows import wide_table
from logger.core.track import Track
from logger.model import Drive


def test_a_track_is_cut_where_the_log_knows_no_place() -> None:
    """A gap of 60 s is drawn, as the log interpolates over it; one of 61 s is not."""
    track, _ = Track.from_fixes(eastward([0, 1, 61, 122, 123]))

    assert (slice(0, 3), slice(3, 5)) == pieces(track)


def test_a_leap_is_not_drawn() -> None:
    """Two long runs with a leap between them are two pieces."""
    here, there = eastward(range(30)), eastward(range(31, 60), lat_deg=46.0)
    track, _ = Track.from_fixes([*here, *there])

    assert (slice(0, 30), slice(30, 59)) == pieces(track)


def test_the_example_of_the_standard() -> None:
    """RFC 7946 section 3.1.9: a line from 45 N, 170 E to 45 N, 170 W becomes two that end at 180 (the RFC from memory)."""
    cut = cut_at_the_antimeridian([(170.0, 45.0), (-170.0, 45.0)])

    assert (((170.0, 45.0), (180.0, 45.0)), ((-180.0, 45.0), (-170.0, 45.0))) == cut


@pytest.mark.parametrize(
    ("line", "cut"),
    [
        ([(179.0, 0.0), (-179.0, 2.0), (179.0, 4.0)], [[(179, 0), (180, 1)], [(-180, 1), (-179, 2), (-180, 3)], [(180, 3), (179, 4)]]),
        ([(179.0, 1.0), (-180.0, 1.0)], [[(179, 1), (180, 1)]]),
        ([(-180.0, 1.0), (179.0, 1.0)], [[(180, 1), (179, 1)]]),
        ([(179.0, 1.0), (-180.0, 1.0), (-179.0, 1.0)], [[(179, 1), (180, 1)], [(-180, 1), (-179, 1)]]),
        ([(-1.0, 1.0), (1.0, 1.0)], [[(-1, 1), (1, 1)]]),
        ([(3.0, 1.0)], [[(3, 1)]]),
        ([(180.0, 1.0), (-180.0, 1.0)], [[(180, 1)]]),
    ],
)  # fmt: skip
def test_lines_are_cut(line: list[tuple[float, float]], cut: list[list[tuple[float, float]]]) -> None:
    """Over and back, along the edge, at the edge, at Greenwich and not at all."""
    assert tuple(tuple(one) for one in cut) == cut_at_the_antimeridian(line)


@given(st.lists(st.tuples(st.floats(-180, 180), st.floats(-80, 80)), min_size=1, max_size=12))
def test_no_part_crosses_and_every_place_stays(line: list[tuple[float, float]]) -> None:
    """Within a part no step is longer than half a turn, and every position is there, at the edge by either name."""
    parts = cut_at_the_antimeridian(line)

    assert all(abs(b[0] - a[0]) <= 180.0 for part in parts for a, b in itertools.pairwise(part))
    if any(len(part) > 1 for part in parts):
        kept = {(abs(lon) == 180.0 or lon, lat) for part in parts for lon, lat in part}
        assert {(abs(lon) == 180.0 or lon, lat) for lon, lat in line} <= kept


def test_cutting_keeps_to_the_way() -> None:
    """Of a short step, cut, both halves together are as long as the step (geographiclib), within rounding."""
    line = [(179.9997, -17.2), (-179.9996, -17.1999)]
    (_, edge), (other, _) = cut_at_the_antimeridian(line)

    def metres(a: tuple[float, float], b: tuple[float, float]) -> float:
        return float(Geodesic.WGS84.Inverse(a[1], a[0], b[1], b[0])["s12"])

    assert edge[1] == other[1]
    assert pytest.approx(metres(line[0], line[1]), abs=1e-4) == metres(line[0], edge) + metres(other, line[1])


def test_checkpoints_in_words() -> None:
    """The charge is the title where it was read off; clock times read as such, doubts are named, unknown places None."""
    found = checkpoints_of(chart(eastward(range(60))).checkpoints)

    assert [1, 2, 3, 4] == [each.number for each in found]
    assert ["80 %", 'a & b <c> "\x0b" –', "checkpoint", "79 %"] == [each.title for each in found]
    assert "charge 80 %, trip 0.2 mi" == found[0].told
    assert "range left 109 mi, clock 07:40, in doubt: range left" == found[2].told
    assert [True, True, True, False] == [each.place is not None for each in found]
    assert found[0].place is not None
    assert pytest.approx((0.5 + 10 * 25.0 / 78_540.0, 45.1234568), abs=1e-4) == found[0].place


def test_units_are_those_of_the_table() -> None:
    """In kilometres the words say kilometres."""
    table = wide_table(ENTRIES, Drive(0, ""), lambda _: None, distances="km")

    assert "charge 80 %, trip 0.3 km" == checkpoints_of(table)[0].told
