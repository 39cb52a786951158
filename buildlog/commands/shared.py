"""What all commands share: options, exit codes, the day, how problems are told, and how the stages are run."""

from __future__ import annotations

import datetime
import gc
import os
import shutil
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, TextIO

import click

from buildlog.text import name_some, replace_unprintable

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures
    from buildlog.problems import Problem
    from buildlog.record.seals import KeptCode
    from buildlog.runs import Watch
    from buildlog.stages import AnyRun, Run


PROBLEMS = 1
"Exit code: something is wrong in the log."
FAILS = 3
"Exit code: something that was handed over does not hold."
INCOMPLETE = 4
"Exit code: nothing fails, but something that is there was not checked, or has to be known first."


class Day(click.ParamType):  # type: ignore[type-arg]  # generic only from click 8.2 on
    """A date on the command line, in the one spelling that entries use."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> datetime.date:
        if isinstance(value, datetime.date):
            return value
        from buildlog.read.kinds import Unreadable, read_date

        try:
            return read_date(value)
        except Unreadable as why:
            self.fail(f"{why.message}; {why.help}", param, ctx)


class Code(click.ParamType):  # type: ignore[type-arg]  # generic only from click 8.2 on
    """A seal's code, or its root, as somebody noted it."""

    name = "code"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> KeptCode:
        from buildlog.record.seals import KeptCode, NotACode, read_code

        if isinstance(value, KeptCode):
            return value
        try:
            return read_code(value)
        except NotACode as why:
            self.fail(str(why), param, ctx)


def today() -> datetime.date:
    """Today, or the day that SOURCE_DATE_EPOCH names (reproducible-builds.org specification)."""
    # The one look at the clock for the day of any figure: below here it is an argument, so that two runs agree.
    epoch = os.environ.get("SOURCE_DATE_EPOCH")
    if epoch is None:
        return datetime.date.today()
    from buildlog.read.kinds import Unreadable, read_date

    try:
        return read_date(datetime.datetime.fromtimestamp(int(epoch), datetime.UTC).date().isoformat())
    except Unreadable:
        message = f"SOURCE_DATE_EPOCH is `{epoch}`, which is not a day between the years 1000 and 2999"
        raise click.UsageError(message) from None
    except (ValueError, OverflowError, OSError):
        raise click.UsageError(f"SOURCE_DATE_EPOCH is `{epoch}`, which is not a number of seconds") from None


FOLDER = click.Path(path_type=Path, exists=True, file_okay=False)
FILE = click.Path(path_type=Path, exists=True, dir_okay=False)
log_folder = click.argument("log", type=FOLDER, default=".")
as_of = click.option(
    "--as-of", type=Day(), default=None, metavar="DATE", help="Figures as of this date (default: today)."
)
entry_day = click.option(
    "--as-of", type=Day(), default=None, metavar="DATE", help="Date of the entry (default: today)."
)
strict = click.option("--strict", is_flag=True, help="Treat warnings as errors.")
verbose = click.option("--verbose", is_flag=True, help="Afterwards, list how long each stage took.")
from_scratch = click.option(
    "--from-scratch", "anew", is_flag=True, help="Ignore everything kept from earlier runs and work it all out again."
)
as_json = click.option("--json", "as_json", is_flag=True, help="Print the same figures as JSON.")


def compute_or_stop(run: AnyRun) -> AnyRun:
    """The run with the log read and computed, and without its warnings: they are counted on standard error.

    Entries that are left out, because they are dated after the day, are named. With an error left all problems are told
    there whole, and the command ends.
    """
    from dataclasses import replace

    from buildlog.stages import run_stages

    run = run_stages(run, until="compute")
    if run.refused:
        say(run.problems, run.texts)
        sys.exit(PROBLEMS)
    for line in list_told(run):
        click.echo(line, err=True)
    return replace(run, problems=())  # what was told is not told again behind the stages that follow


def list_told(run: Run) -> list[str]:
    """What is told of a log that has no error, once it is computed: entries that are left out, how many warnings."""
    from buildlog.compute.as_of import AHEAD
    from buildlog.problems import count_problems

    ahead = [problem.place.file for problem in run.problems if problem.rule == AHEAD]
    told = [f"left out, dated after {run.as_of}: {name_some(ahead)}"] if ahead else []
    some = f"{count_problems(run.problems)}: `buildlog check {show(run.folder)}` shows them"
    return [*told, some] if run.problems else told


def tell_trouble(*troubles: str) -> None:
    """Why a run took longer than it had to, in one sentence on standard error; nothing where nothing was wrong."""
    told = next(filter(None, troubles), "")
    if told:
        click.echo(replace_unprintable(told, "?"), err=True)


def figures_or_stop(run: Run) -> Figures:
    """The figures, where no error is left."""
    figures = compute_or_stop(run).figures
    assert figures is not None, "a log that makes none has an error"
    return figures


def show(path: Path | None) -> str:
    """A path as it is echoed: no terminal obeys what somebody put into a name."""
    return replace_unprintable(str(path), "?")


def say(problems: Sequence[Problem], texts: Mapping[str, str] = MappingProxyType({})) -> None:
    """Problems on standard error, each with the owner's line where its text was read."""
    say_words(*word_problems(problems, texts))


def word_problems(problems: Sequence[Problem], texts: Mapping[str, str]) -> tuple[str, str]:
    """What is said of problems, without colours and with them."""
    from buildlog.problems import show_problems

    return show_problems(problems, texts), show_problems(problems, texts, colour=True)


def say_words(plain: str, coloured: str) -> None:
    """Say on standard error: in colour where somebody looks at a terminal, and has not said NO_COLOR (no-color.org)."""
    # Standard error alone counts: its problems are read on a terminal while standard output goes into a file.
    colour = sys.stderr.isatty() and not os.environ.get("NO_COLOR")
    click.echo(coloured if colour else plain, nl=False, err=True)


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
    from buildlog.runs import Watch

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
