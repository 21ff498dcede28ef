"""Where data goes: standard output, or a file that appears whole or not at all."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, BinaryIO, NoReturn, TypeVar

import click

from logger.errors import ExportError

_Command = TypeVar("_Command", bound=Callable[..., Any])


def output_option(command: _Command) -> _Command:
    """Give a command the option `-o`."""
    return click.option(
        "-o",
        "--output",
        default="-",
        metavar="FILE",
        help="Where to write; - is standard output, the default.",
    )(command)


def refuse_on_terminal(ctx: click.Context, form: str) -> NoReturn:
    """Say that a form is not for a terminal.

    Raises:
        click.UsageError: always.
    """
    raise click.UsageError(f"{form} is not for a terminal; send it to a file with -o FILE", ctx)


def write_bytes(output: str, write: Callable[[BinaryIO], None]) -> None:
    """Let `write` write to standard output ("-") or to a file.

    Raises:
        ExportError: the file cannot be written; what was there before is still there.
        BrokenPipeError: whoever read standard output has gone.
    """
    if output == "-":
        _write_stdout(write)
        return
    path = Path(output)
    part = path.with_name(f".{path.name}.part")
    try:
        try:
            with part.open("wb") as file:
                write(file)
                file.flush()
                os.fsync(file.fileno())
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        raise ExportError(
            f"{path}: cannot be written ({error.strerror or error}); choose another place"
        ) from error


def _write_stdout(write: Callable[[BinaryIO], None]) -> None:
    """Write to standard output, which may be closed, or a file on a disk that is full.

    Raises:
        ExportError: it cannot be written.
        BrokenPipeError: whoever read it has gone.
    """
    if sys.stdout is None:
        raise ExportError("standard output is closed; open it, or redirect it to a file")
    try:
        write(sys.stdout.buffer)
        sys.stdout.buffer.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        # Python would try once more when it ends, and complain.
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
        raise ExportError(
            f"standard output cannot be written to ({error.strerror or error}); make room or choose another place"
        ) from error


def write_text(output: str, text: str) -> None:
    """Write a text as UTF-8, as `write_bytes` does.

    Raises:
        ExportError: the file cannot be written.
        BrokenPipeError: whoever read standard output has gone.
    """

    def write(stream: BinaryIO) -> None:
        stream.write(text.encode())

    write_bytes(output, write)
