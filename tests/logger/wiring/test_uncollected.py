"""Putting off the search for garbage."""

from __future__ import annotations

import gc
import threading

import pytest

from logger.wiring.uncollected import uncollected


def test_it_goes_on_afterwards() -> None:
    """Off within, also within each other, and on again at the end, whatever happens."""

    def fail() -> None:
        with uncollected():
            assert not gc.isenabled()
            with uncollected():
                pass
            assert not gc.isenabled()
            raise ValueError("inside")

    with pytest.raises(ValueError, match="inside"):
        fail()
    assert gc.isenabled()


def test_it_stays_as_it_was() -> None:
    """Where somebody had turned it off, it is not turned on."""
    gc.disable()
    try:
        with uncollected():
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()


def test_threads_share_it() -> None:
    """The last of two threads to end lets it go on."""
    entered, leave = threading.Event(), threading.Event()

    def other() -> None:
        with uncollected():
            entered.set()
            leave.wait(10)

    thread = threading.Thread(target=other)
    thread.start()
    assert entered.wait(10)
    with uncollected():
        pass
    assert not gc.isenabled()
    leave.set()
    thread.join(10)
    assert gc.isenabled()
