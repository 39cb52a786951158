"""How a command runs the stages: with a line on the terminal, a log of times if asked, and no search for cycles."""

from __future__ import annotations

import gc
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING, TextIO

import click

if TYPE_CHECKING:
    from buildlog.watch import Watch

NARROWEST = 60
"Columns of a terminal in which a bar with its numbers and the time left stays on one line; in fewer, none is shown."
BAR = "%(label)s  [%(bar)s]  %(info)s"
"A stage that counts, as click fills it; one that does not is its name alone."
ERASE = "\x1b[1A\x1b[2K"
"Up one line, and erase it (ECMA-48, CUU and EL): click ends the line of a bar, and nothing of it shall be left."


@contextmanager
def watched(verbose: bool, *, line: bool = True) -> Iterator[Watch]:
    """Who a run tells how it goes: on one line of the terminal meanwhile, and in a log behind it where `verbose`.

    All of it goes to standard error, so that what a command answers can be piped on.
    """
    from buildlog.watch import Watch

    shows = StageLine(sys.stderr) if line and _is_looked_at(sys.stderr) else None
    watch = Watch(shows.show if shows else None)
    try:
        yield watch
    finally:  # a run that failed has its log too: it tells how far it came
        for row in watch.list_times() if verbose else ():
            click.echo(row, err=True)


def _is_looked_at(stream: TextIO) -> bool:
    """Whether a line can be shown and taken away: in a pipe, or where nothing can be erased, lines would pile up."""
    wide = shutil.get_terminal_size().columns >= NARROWEST
    return stream.isatty() and wide and os.environ.get("TERM") != "dumb"


class StageLine:
    """The stage at work in one line of a terminal, with a bar and the time left where it counts.

    No colour is in it, whatever NO_COLOR says, and it leaves the terminal as it was.
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._shown = ("", 0)
        self._done = 0
        self._advance: Callable[[int], None] = lambda steps: None
        self._open = ExitStack()

    def show(self, stage: str, done: int, total: int) -> None:
        """Show that so many are done of so many of a stage, or only its name; without a name, nothing any more."""
        if (stage, total) != self._shown:
            self._open.close()
            self._shown, self._done = (stage, total), 0
            if stage:
                self._begin(stage, total)
        self._advance(done - self._done)
        self._done = done

    def _begin(self, stage: str, total: int) -> None:
        template = BAR if total else "%(label)s"
        bar = click.progressbar(
            length=total or 1, label=stage, bar_template=template, show_pos=True, width=24, file=self._stream
        )
        # Before the bar, so that it runs after the bar has shown the cursor again and ended its line.
        self._open.callback(click.echo, ERASE, file=self._stream, nl=False)
        self._advance = self._open.enter_context(bar).update


@contextmanager
def without_collector() -> Iterator[None]:
    """Inside, memory is freed as counts of references fall to nothing, and no search for cycles runs; nor at the exit.

    Records, figures and pages point one way, and nearly all of them live until the site is written: again and again the
    search would look through every one of them in vain. It took a tenth of publishing 200 entries and a fifth of 2,000,
    of a question to 2,000 two fifths, and none took less memory for it. A process that stays up needs the search: this
    is for commands that end.
    """
    if not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()  # what is left lives until the exit, which then need not search it either
        gc.enable()
