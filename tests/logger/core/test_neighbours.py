"""Where readings lie in their strand."""

from __future__ import annotations

from decimal import Decimal

from called_drives import BEGAN, NANO, steady

from logger.core.evidence import Surroundings
from logger.core.neighbours import places
from logger.core.rules import Facts, Observation
from logger.core.strands import Knot, weave
from logger.model import Drive


def test_neighbours_are_the_trusted_ones() -> None:
    """A reading that nobody believes is stepped over, and is a rival of those near it."""
    around = Surroundings(Drive(BEGAN, ""), steady, [0, 1_000 * NANO])
    seen = [
        around.observe("charge", Decimal(value), "%", 200 * NANO * number)
        for number, value in enumerate([80, 79, 12, 76, 74])
    ]
    woven = weave({"charge": [Knot(each.at_ns, (each,), (-0.1,), -2.0) for each in seen]}, Facts({}), around)
    firsts: list[Observation | None] = [*seen]
    firsts[4] = None  # a person decided
    found = places(woven["charge"], firsts, reach=1)

    assert [None, 0, 1, 1, 3] == [each.before_at for each in found]
    assert [1, 3, 3, 4, None] == [each.after_at for each in found]
    assert (seen[1], seen[3]) == (found[2].before, found[2].after)
    assert (None, None) == (found[0].before, found[4].after)
    assert [(), (seen[2],), (), (seen[2],), ()] == [each.rivals for each in found]
