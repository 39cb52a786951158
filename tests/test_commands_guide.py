"""The guide's page of commands says of each what its `--help` says, and tells of no other.

Compared with click's own objects: names, the order of the arguments, every option with its value, default and words.
"""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest

import buildlog
from buildlog.cli import main
from buildlog.commands.shared import FAILS, INCOMPLETE, PROBLEMS

PAGE = (Path(buildlog.__file__).parent / "guide/commands.md").read_text(encoding="utf-8")
CHAPTERS = {part.partition("\n")[0]: part for part in PAGE.split("\n## ")[1:]}
HELP = ("-h", "--help")
"The option that every command has: said once, above them all."


def make_context(command: click.Command) -> click.Context:
    return click.Context(command, info_name=f"buildlog {command.name}", help_option_names=[*HELP])


def list_options(command: click.Command) -> list[str]:
    """The table of a command's options as the page has it; nothing for a command that has none."""
    context = make_context(command)
    options = [param for param in command.params if isinstance(param, click.Option)]
    records = [record for option in options if (record := option.get_help_record(context))]
    cells = [[" ".join(cell.split()).replace("|", r"\|") for cell in record] for record in records]
    rows = [f"| `{name}` | {says} |" for name, says in cells]
    return ["| option | what it does |", "| --- | --- |", *rows] if rows else []


def write_chapter(command: click.Command) -> str:
    """What the page has to say of a command: how it is called, what for, and its options."""
    context = make_context(command)
    usage = f"    {context.command_path} {' '.join(command.collect_usage_pieces(context))}"
    says = [" ".join(part.split()) for part in (command.help or "").split("\n\n")]
    return "\n\n".join([command.name or "", usage, *says, "\n".join(list_options(command))])


def unwrap(chapter: str) -> str:
    """A chapter with each paragraph on one line; tables and what is set in as code stay as they are."""
    parts = [part if part.startswith(("|", "    ")) else " ".join(part.split()) for part in chapter.split("\n\n")]
    return "\n\n".join(parts).strip("\n")


def test_the_page_has_every_command_and_no_other() -> None:
    """A chapter for each command that the program has, in the order in which they are named to click."""
    assert list(CHAPTERS) == list(main.commands)
    assert len(CHAPTERS) > 10


@pytest.mark.parametrize("name", main.commands)
def test_a_command_is_told_as_its_help_tells_it(name: str) -> None:
    """How it is called, its words, and a row for every option: none is missing, none is told that it does not have."""
    wanted = write_chapter(main.commands[name])
    assert unwrap(CHAPTERS[name]) == wanted, f"its chapter should be:\n## {wanted}"


def test_what_all_commands_share_is_said_once() -> None:
    """Every command explains itself by the two options at the top, and the exit codes there are the program's."""
    top = PAGE.split("\n## ")[0]
    assert tuple(main.context_settings["help_option_names"]) == HELP
    assert all(f"`{option}`" in top for option in HELP)
    codes = dict(re.findall(r"^\| `(\d)` \| (.+) \|$", top, re.MULTILINE))
    assert list(codes) == ["0", str(PROBLEMS), str(click.UsageError.exit_code), str(FAILS), str(INCOMPLETE)]
