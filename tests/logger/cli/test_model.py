"""`odovox model`: what is installed, to stdout."""

from __future__ import annotations

from collections.abc import Callable

from click.testing import Result


def test_what_is_installed_is_shown(invoke: Callable[..., Result]) -> None:
    """Both recognisers and which one auto takes are shown."""
    result = invoke("model")

    assert 0 == result.exit_code
    assert "pocketsphinx" in result.stdout
    assert "vosk" in result.stdout
    assert "auto takes: " in result.stdout


def test_a_name_that_is_none_is_one_line(invoke: Callable[..., Result]) -> None:
    """A model's name that cannot be one ends with 2, before any network is asked."""
    result = invoke("model", "--fetch", "my model")

    assert 2 == result.exit_code
    assert result.stderr.startswith("odovox: error: my model: not the name of a Vosk model")
