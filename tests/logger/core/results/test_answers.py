"""The few figures on top."""

from __future__ import annotations

import pytest
from read_drives import charges, seen, straight_track

from logger.core.results.answers import cautions
from logger.core.results.basis import basis_of
from logger.core.results.figures import Figure
from logger.core.results.observed import Observed
from logger.core.results.whole import work_out


def drive(last: int) -> Observed:
    """A drive down to a charge."""
    return seen(charges(4.0, range(100, last - 1, -1)), track=straight_track(420.0), test={"usable_kwh": 60})


@pytest.mark.parametrize("last", [0, 30])
def test_each_is_a_figure_of_its_section(last: int) -> None:
    """What stands on top is told below by the same figure."""
    results = work_out(drive(last))
    told = [line.answer for section in results.sections for line in section.lines]

    assert all(any(line.answer is each for each in told) for line in results.answer.lines)
    assert isinstance(results.answer.answer("from_full"), Figure)


def test_a_projection_is_said_to_be_one() -> None:
    """Where 0 % was not reached that is the first caution, and the projection from the start stands on top."""
    assert "projection" in cautions(basis_of(drive(30)))[0]
    assert not any("is a projection" in each for each in cautions(basis_of(drive(0))))
    assert isinstance(work_out(drive(30)).answer.answer("last"), Figure)
    with pytest.raises(KeyError):
        work_out(drive(0)).answer.answer("last")


@pytest.mark.parametrize(
    "word", ["one drive", "flat in traffic", "Local law", "from the wall", "without warning"]
)
def test_the_usual_cautions(word: str) -> None:
    """The cautions of docs/safety.md and of common practice are all there."""
    assert any(word in each for each in cautions(basis_of(seen([]))))
