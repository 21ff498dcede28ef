"""How commands are found, and how any of them ends."""

from __future__ import annotations

import click
import pytest
from click.testing import CliRunner

from logger.cli.group import COMMANDS, LazyGroup, odovox
from logger.errors import StoreError


def ending(error: BaseException) -> tuple[int, str, str]:
    """Return exit code, stdout and stderr of a command that raises."""

    class OneCommand(LazyGroup):
        def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command:  # noqa: ARG002
            @click.command(name=cmd_name)
            def command() -> None:
                raise error

            return command

    result = CliRunner().invoke(OneCommand(name="odovox"), ["fail"])
    return result.exit_code, result.stdout, result.stderr


def test_every_command_can_be_loaded() -> None:
    """Each name leads to the command of that name, whose help ends with an example."""
    for name in COMMANDS:
        command = odovox.get_command(click.Context(odovox), name)

        assert command is not None
        assert name == command.name
    assert odovox.get_command(click.Context(odovox), "talk") is None


@pytest.mark.parametrize(
    ("error", "code", "line"),
    [
        (StoreError("the disk\nis \x1b[31mfull"), 2, "odovox: error: the disk is ?[31mfull\n"),
        (click.UsageError("two of them."), 2, "odovox: error: two of them; see `odovox fail --help`\n"),
        (click.ClickException("no luck"), 2, "odovox: error: no luck\n"),
        (
            KeyboardInterrupt(),
            130,
            "odovox: stopped; what was taken in so far is kept, and the same command goes on from there\n",
        ),
        (BrokenPipeError(), 0, ""),
    ],
)
def test_an_ending_is_one_line(
    error: BaseException, code: int, line: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Errors end with 2, Ctrl-C with 130, a reader who has had enough with 0: one line at most, and no data."""
    monkeypatch.setattr("logger.cli.group._discard_stdout", lambda: None)  # it would close pytest's own

    assert (code, "", line) == ending(error)


def test_a_fault_of_our_own_is_not_hidden() -> None:
    """What nobody foresaw comes through as it is, so that it can be reported."""
    result = CliRunner().invoke(odovox, ["log", "x"], standalone_mode=False)
    assert isinstance(result.exception, StoreError)


def test_the_version_is_told() -> None:
    """`--version` prints name and version, installed or not."""
    result = CliRunner().invoke(odovox, ["--version"])

    assert 0 == result.exit_code
    assert result.stdout.startswith("odovox")
