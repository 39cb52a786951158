"""The command line: one group of all commands, which live in `buildlog.commands`.

Heavy modules are imported where they are used, so that `buildlog --help` answers at once.
"""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from collections.abc import Iterator
from typing import Any

import click

from buildlog import __version__
from buildlog.commands.asking import apart, costs, due, faults, next_, parts
from buildlog.commands.bringing import bring
from buildlog.commands.handover import handover, seal, verify
from buildlog.commands.keeping import book, check, forget_photos, preview, publish, schema, start, write
from buildlog.text import replace_unprintable

KEEPING = (start, bring, write, preview, check, publish, book, schema, forget_photos)
ASKING = (costs, parts, due, next_, faults, apart)
HANDING_ON = (seal, handover, verify)


class Commands(click.Group):
    """A group in which whatever the system refuses ends any command with one sentence: nowhere else is that done."""

    # Not only while a command runs: `--help` prints, and options look at the disk, while they are parsed.
    def make_context(self, *arguments: Any, **named: Any) -> click.Context:
        with _in_one_sentence():
            return super().make_context(*arguments, **named)

    def invoke(self, ctx: click.Context) -> Any:
        with _in_one_sentence():
            return super().invoke(ctx)


@contextlib.contextmanager
def _in_one_sentence() -> Iterator[None]:
    """Turn an OSError into what click tells: wrong use where something is in the way, else a plain failure."""
    try:
        yield
    except click.ClickException as error:
        error.message = "\n".join(replace_unprintable(line, "?") for line in error.message.split("\n"))  # type: ignore[misc]  # names that were typed or found may be in it
        raise
    except FileExistsError as error:
        name = error.filename2 or error.filename  # of two names, the second is the one that was to be made
        raise click.UsageError(f"{_show(name)} already exists and has been left alone") from None
    except OSError as error:
        if error.errno == errno.EPIPE:  # who read the output has seen enough: click ends without a word
            raise
        if _is_of_output(error):
            _drop_output()
            raise click.ClickException(f"the output cannot be written: {error.strerror}") from None
        if error.strerror is None:  # ours, in words of its own
            raise click.ClickException(str(error)) from None
        raise click.ClickException(f"{_show(error.filename)} cannot be read or written: {error.strerror}") from None


def _show(name: Any) -> str:
    """A file as it is named to the owner; not every error says which one it was."""
    shown = os.fsdecode(name) if isinstance(name, bytes) else str(name)
    return "a file" if name is None else f"`{replace_unprintable(shown, '?')}`"


def _is_of_output(error: OSError) -> bool:
    """Whether it was standard output that failed: click alone writes to it."""
    # The error itself does not say: a stream that fails gives no file name, and neither does many another call.
    at = error.__traceback__
    while at and at.tb_next:
        at = at.tb_next
    return at is not None and error.filename is None and at.tb_frame.f_globals["__name__"].startswith("click.")


def _drop_output() -> None:
    """Let what is left of the output go nowhere, or Python would fail over it once more at its end."""
    with contextlib.suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="buildlog %(version)s")
def main() -> None:
    """Turn one machine's log of dated entries into exact figures and a static site."""


for command in (*KEEPING, *ASKING, *HANDING_ON):
    main.add_command(command)
