"""Options that several commands have."""

from __future__ import annotations

import click
import pytest

from logger.cli.options import address_of, finite


def test_nan_is_no_number() -> None:
    """Click's ranges compare, and nothing compares with it."""
    context, option = click.Context(click.Command("x")), click.Option(["--hours"])

    assert finite(context, option, 5.0) == 5.0
    with pytest.raises(click.BadParameter, match="is not a number"):
        finite(context, option, float("nan"))


def test_an_address_that_is_none_is_wrong_usage() -> None:
    """The message names the option."""
    with pytest.raises(click.UsageError, match="--gpsd: 'localhost:gps' is no address of gpsd"):
        address_of("localhost:gps", click.Context(click.Command("x")))
