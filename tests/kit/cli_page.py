"""docs/cli.md, made from the commands themselves. Run as a program it writes the file."""

from __future__ import annotations

import inspect
from pathlib import Path

import click

from logger.cli import odovox

PATH = Path(__file__).resolve().parents[2] / "docs" / "cli.md"

_HEAD = """\
# The command line

Made from the commands themselves by `python tests/kit/cli_page.py`; a test holds that it is current.

Data goes to standard output, talk to standard error.
`odovox COMMAND --help` says the same as this page.

| exit code | meaning |
|---|---|
| 0 | fine |
| 1 | something needs a human: see each command |
| 2 | wrong usage, or input that cannot be used; one line on standard error says what and what to do |
| 130 | stopped by Ctrl-C; what was taken in so far is kept |

A reader of the output that has had enough (`odovox log DRIVE | head`) is no error.
`python -m logger` is the same as `odovox`.
"""


def page() -> str:
    """Return what docs/cli.md must hold."""
    context = click.Context(odovox, info_name="odovox")
    names = odovox.list_commands(context)
    parts = [_HEAD, "\n".join(f"- [{name}](#odovox-{name})" for name in names) + "\n"]
    for name in names:
        command = odovox.get_command(context, name)
        assert command is not None
        parts.append(_section(command, click.Context(command, info_name=name, parent=context)))
    return "\n".join(parts)


def _section(command: click.Command, context: click.Context) -> str:
    usage = " ".join(command.collect_usage_pieces(context))
    paragraphs = inspect.cleandoc(command.help or "").split("\n\n")
    lines = [f"## odovox {command.name}", "", f"Usage: `{context.command_path} {usage}`", ""]
    for paragraph in paragraphs:
        lines += _example(paragraph) if paragraph.startswith("\b") else [" ".join(paragraph.split())]
        lines.append("")
    options = [each for each in command.params if isinstance(each, click.Option)]
    lines += ["| option | meaning |", "|---|---|"]
    for option in options:
        lines.append(f"| {_names(option, context)} | {_meaning(option)} |")
    lines.append("| `-h`, `--help` | Show the help and end. |")
    return "\n".join(lines) + "\n"


def _example(paragraph: str) -> list[str]:
    return ["Example:", "", *(line for line in paragraph.splitlines()[2:])]


def _names(option: click.Option, context: click.Context) -> str:
    value = "" if option.is_flag else f" {option.make_metavar(context)}"
    return (
        ", ".join(f"`{name}`" for name in option.opts[:-1])
        + (", " if len(option.opts) > 1 else "")
        + f"`{option.opts[-1]}{value}`".replace("|", "\\|")
    )


def _meaning(option: click.Option) -> str:
    text = " ".join((option.help or "").split())
    return f"{text} Needed." if option.required else text


if __name__ == "__main__":
    PATH.write_text(page(), encoding="utf-8")
