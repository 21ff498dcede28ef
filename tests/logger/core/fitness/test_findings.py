"""What findings come to."""

from __future__ import annotations

import pytest

from logger.core.fitness.findings import Check, Finding, State, failed, is_fit, untried


@pytest.mark.parametrize(
    ("states", "expected"),
    [
        ((), True),
        ((State.OK, State.WARNING), True),
        ((State.OK, State.FAILED), False),
        ((State.OK, State.UNTRIED), False),
    ],
)
def test_fit(states: tuple[State, ...], expected: bool) -> None:  # noqa: FBT001
    """Warnings do not stop a drive; failures, and what nobody could look at, do."""
    assert expected is is_fit(Finding(Check.LEVEL, state, "") for state in states)


def test_an_error_of_ours_says_what_and_what_to_do() -> None:
    """The first semicolon parts the two; further ones stay."""
    finding = failed(Check.MICROPHONE, "there is none; plug one in; or two")

    assert (State.FAILED, "there is none", "plug one in; or two") == (
        finding.state,
        finding.what,
        finding.todo,
    )
    assert failed(Check.MICROPHONE, "broken").todo == ""


def test_what_hangs_on_another_names_it() -> None:
    """So a person knows what comes first."""
    assert untried(Check.FIX, Check.GPSD).todo == "put gpsd right first"
