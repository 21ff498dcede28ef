"""The group of all commands: how it loads them, and how any of them ends."""

from __future__ import annotations

import importlib
import os
import sys
from collections.abc import Sequence
from typing import Any

import click

from logger.cli.talk import error_line, say
from logger.errors import OdovoxError

COMMANDS = (
    "check",
    "record",
    "ingest",
    "reconcile",
    "recover",
    "review",
    "amend",
    "log",
    "report",
    "compare",
    "phrases",
    "say",
    "model",
    "demo",
)
"""The commands in the order in which they are needed; each is `command` in the module of its name."""

_KEEP_NOTHING = frozenset({"check", "recover"})
"""Those that cannot go on where they were stopped."""

UNUSABLE = 2
"""The exit code for wrong usage and for input that cannot be used."""
STOPPED = 130
"""The exit code after Ctrl-C: 128 and the number of SIGINT (common practice of shells)."""


class LazyGroup(click.Group):
    """A group that imports a command when it is asked for, and turns every failure into one line on stderr."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002  (click's signature)
        """Return the names in the order of use."""
        return list(COMMANDS)

    def get_command(
        self,
        ctx: click.Context,  # noqa: ARG002  (click's signature)
        cmd_name: str,
    ) -> click.Command | None:
        """Import the command of that name."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"logger.cli.{cmd_name}").command
        return command

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; a reader of our output who has had enough ends it quietly."""
        try:
            return super().invoke(ctx)
        # These two here, since click itself would end a broken pipe with 1 and write an empty line after Ctrl-C.
        except BrokenPipeError:
            _discard_stdout()
            return ctx.exit(0)
        except KeyboardInterrupt:
            if sys.stderr.isatty():
                click.echo(err=True)  # the terminal has shown ^C
            kept = "; what was taken in so far is kept, and the same command goes on from there"
            say("stopped" + ("" if ctx.invoked_subcommand in _KEEP_NOTHING else kept))
            return ctx.exit(STOPPED)

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,  # noqa: FBT001, FBT002  (click's own signature)
        **extra: Any,
    ) -> Any:
        """Run a command line and end with its exit code."""
        if not standalone_mode:
            return super().main(args, prog_name, complete_var, standalone_mode=False, **extra)
        try:
            code = super().main(args, prog_name or "odovox", complete_var, standalone_mode=False, **extra)
        except click.UsageError as error:
            where = error.ctx.command_path if error.ctx is not None else "odovox"
            error_line(f"{error.format_message().rstrip('.')}; see `{where} --help`")
            code = UNUSABLE
        except click.ClickException as error:
            error_line(error.format_message())
            code = UNUSABLE
        except OdovoxError as error:
            error_line(str(error))
            code = UNUSABLE
        except click.Abort:
            code = STOPPED
        sys.exit(code)


def _discard_stdout() -> None:
    """Send what is still buffered nowhere, or Python complains about the pipe when it ends."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def _version(ctx: click.Context, _: click.Parameter, value: bool) -> None:  # noqa: FBT001  (click's signature)
    if not value or ctx.resilient_parsing:
        return
    from importlib.metadata import PackageNotFoundError, version

    try:
        click.echo(f"odovox {version('odovox')}")
    except PackageNotFoundError:
        click.echo("odovox, not installed")
    ctx.exit()


@click.group(
    cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.option(
    "--version", is_flag=True, is_eager=True, expose_value=False, callback=_version, help="Show the version."
)
def odovox() -> None:
    """Turn called-out dash readings and a GPS track into a clean log.

    Data goes to standard output, talk to standard error. Exit codes: 0 fine, 1 something needs a human, 2 wrong usage
    or unusable input, 130 stopped by Ctrl-C.

    \b
    Example:
        odovox ingest drive.flac --track drive.gpx --started 2031-05-03T09:00:00Z --out my-drive
        odovox log my-drive
    """  # noqa: D301  (click reads the backspace)


def main() -> None:
    """Run `odovox` with the arguments of this process."""
    # Read when numpy is first imported. Our matrices are small: more threads only wait for each other, for seconds where
    # something else is running, and comparing has a process for each processor.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    odovox()
