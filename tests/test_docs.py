"""The pages about the command line are true: made from the commands, complete, and every example line can be typed."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import cli_page
import click
import pytest

from logger.cli import odovox

REPOSITORY = Path(__file__).resolve().parents[1]
CONTEXT = click.Context(odovox, info_name="odovox")
NAMES = odovox.list_commands(CONTEXT)
PAGES = sorted([*REPOSITORY.glob("*.md"), *(REPOSITORY / "docs").glob("*.md")])


def command_of(name: str) -> click.Command:
    """Return a command by its name."""
    command = odovox.get_command(CONTEXT, name)
    assert command is not None, name
    return command


def example_lines(text: str) -> list[str]:
    """Return the indented lines, and those in fences, that call odovox, up to a pipe or redirection."""
    lines = (
        re.sub(r"^ {4,}(\$ )?", "", line)
        for line in text.splitlines()
        if re.match(r" {4,}(\$ )?odovox ", line)
    )
    return [re.split(r" [|>] ", line)[0] for line in lines]


def check(line: str) -> None:
    """Parse a command line without running it; raise what is wrong with it."""
    name, *arguments = shlex.split(line)[1:]
    if name.startswith("-"):
        return
    command_of(name).make_context(name, arguments, parent=CONTEXT)


@pytest.mark.parametrize("name", NAMES)
def test_every_command_has_help_with_an_example(name: str) -> None:
    """Help begins with a sentence, ends with an example of that command, and explains each option."""
    command = command_of(name)
    text = command.help or ""
    examples = example_lines(text)

    assert text.split("\n")[0].endswith(".")
    assert examples
    assert all(line.startswith(f"odovox {name} ") for line in examples)
    for option in command.params:
        assert not isinstance(option, click.Option) or option.help, option.name
    for line in examples:
        check(line)


def test_the_page_is_current() -> None:
    """docs/cli.md is what `python tests/kit/cli_page.py` writes."""
    assert cli_page.page() == cli_page.PATH.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", NAMES)
def test_every_command_is_on_the_page(name: str) -> None:
    """docs/cli.md has a section on each command that names all of its options."""
    section = cli_page.PATH.read_text(encoding="utf-8").split(f"## odovox {name}\n")[1].split("\n## ")[0]

    for parameter in command_of(name).params:
        if isinstance(parameter, click.Option):
            assert all(f"`{each}" in section for each in parameter.opts)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_example_can_be_typed(page: Path) -> None:
    """Each `odovox ...` line of a page parses: the command is there, and so are its options."""
    for line in example_lines(page.read_text(encoding="utf-8")):
        check(line)


def test_a_wrong_example_would_be_seen() -> None:
    """The check above notices an unknown option and an unknown command."""
    with pytest.raises(click.UsageError):
        check("odovox log my-drive --colour")
    with pytest.raises(AssertionError):
        check("odovox drive my-drive")


def test_links_lead_somewhere() -> None:
    """Each link to a file in docs/cli.md and docs/tutorial.md leads to one."""
    for page in (cli_page.PATH, REPOSITORY / "docs" / "tutorial.md"):
        for target in re.findall(r"\]\(([^)#]+)\)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), target
