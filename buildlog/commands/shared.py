"""What all commands share: options, exit codes, the day, and how problems are told."""

from __future__ import annotations

import datetime
import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from buildlog.text import name_some

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures
    from buildlog.handover.pack import HandedOver
    from buildlog.record.codes import KeptCode
    from buildlog.stages import Checked

PROBLEMS = 1
"Exit code: something is wrong in the log."
FAILS = 3
"Exit code: something that was handed over does not hold."


class Day(click.ParamType):  # type: ignore[type-arg]  # generic only from click 8.2 on
    """A date on the command line, in the one spelling that entries use."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> datetime.date:
        if isinstance(value, datetime.date):
            return value
        from buildlog.read.dates import read_date
        from buildlog.read.kinds import Unreadable

        try:
            return read_date(value)
        except Unreadable as why:
            self.fail(f"{why.message}; {why.help}", param, ctx)


class Code(click.ParamType):  # type: ignore[type-arg]  # generic only from click 8.2 on
    """A seal's code, or its root, as somebody noted it."""

    name = "code"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> KeptCode:
        from buildlog.record.codes import KeptCode, NotACode, read_code

        if isinstance(value, KeptCode):
            return value
        try:
            return read_code(value)
        except NotACode as why:
            self.fail(str(why), param, ctx)


def today() -> datetime.date:
    """Today, or the day that SOURCE_DATE_EPOCH names (reproducible-builds.org specification)."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH")
    if epoch is None:
        return datetime.date.today()
    from buildlog.read.dates import read_date
    from buildlog.read.kinds import Unreadable

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
as_json = click.option("--json", "as_json", is_flag=True, help="Print the same figures as JSON.")


def check_or_tell(log: Path, day: datetime.date, *, strict: bool) -> Checked:
    """The log read and computed; errors are told whole on standard error, warnings are counted.

    Entries that are left out, because they are dated after the day, are named.
    """
    from buildlog.problems import count_problems
    from buildlog.stages import AHEAD, check_log

    checked = check_log(log, day, strict=strict)
    if checked.figures is None:
        say(checked.problems, checked)
    elif checked.problems:
        ahead = [problem.place.file for problem in checked.problems if problem.rule == AHEAD]
        if ahead:
            click.echo(f"left out, dated after {day}: {name_some(ahead)}", err=True)
        click.echo(f"{count_problems(checked.problems)}: `buildlog check {log}` shows them", err=True)
    return checked


def say(problems: Any, checked: Checked | HandedOver) -> None:
    """Problems on standard error, each with the owner's line."""
    _say(problems, checked.texts)


def say_plainly(problems: Any) -> None:
    """Problems of files whose texts were not read: nothing is quoted."""
    _say(problems, {})


def _say(problems: Any, texts: Mapping[str, str]) -> None:
    """Colour only where somebody looks at a terminal and has not said NO_COLOR (no-color.org)."""
    from buildlog.problems import show_problems

    colour = sys.stderr.isatty() and not os.environ.get("NO_COLOR")
    click.echo(show_problems(problems, texts, colour=colour), nl=False, err=True)


def figures_or_stop(checked: Checked) -> Figures:
    if checked.figures is None:
        sys.exit(PROBLEMS)
    return checked.figures
