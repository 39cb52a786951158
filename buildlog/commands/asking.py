"""Asking a log: costs, parts, what is due, faults, what is within reach; as a table, as JSON or for other programs."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from buildlog.commands.shared import (
    FOLDER,
    as_json,
    as_of,
    figures_or_stop,
    from_scratch,
    log_folder,
    tell_trouble,
    today,
    verbose,
    watched,
    without_collector,
)
from buildlog.text import join_words

if TYPE_CHECKING:
    from collections.abc import Callable

    from buildlog.answers.forms import Answer
    from buildlog.compute.figures import Figures

    Ask = Callable[[Figures], Answer]
    Show = Callable[[Answer], str | bytes]

as_csv = click.option("--csv", "as_csv", is_flag=True, help="Print the rows as CSV, for a spreadsheet.")


@click.command()
@log_folder
@as_of
@as_json
@as_csv
@from_scratch
@verbose
def costs(log: Path, as_of: datetime.date | None, as_json: bool, as_csv: bool, anew: bool, verbose: bool) -> None:
    """What the machine has cost so far, and on what."""
    from buildlog.answers.forms import export_costs
    from buildlog.answers.ledger import answer_costs

    show = _choose(json=(as_json, None), csv=(as_csv, lambda answer: export_costs(answer.data)))
    _answer(log, as_of, show, anew, verbose, answer_costs)


@click.command()
@log_folder
@click.option(
    "--find",
    metavar="WORDS",
    help="Only the part of this number (superseded ones too) or name; else all parts that have these words.",
)
@as_of
@as_json
@as_csv
@from_scratch
@verbose
def parts(
    log: Path, find: str | None, as_of: datetime.date | None, as_json: bool, as_csv: bool, anew: bool, verbose: bool
) -> None:
    """Every part bought or taken off, and where it is now."""
    from buildlog.answers.forms import PARTS, export_rows
    from buildlog.answers.ledger import answer_parts

    show = _choose(json=(as_json, None), csv=(as_csv, lambda answer: export_rows(answer.data, PARTS)))
    _answer(log, as_of, show, anew, verbose, lambda figures: answer_parts(figures, find))


@click.command()
@log_folder
@as_of
@as_json
@as_csv
@click.option("--ics", "as_ics", is_flag=True, help="Print what has a date as iCalendar, for a calendar.")
@from_scratch
@verbose
def due(
    log: Path, as_of: datetime.date | None, as_json: bool, as_csv: bool, as_ics: bool, anew: bool, verbose: bool
) -> None:
    """What is overdue, due now, due later or has no history."""
    from buildlog.answers.forms import DUE, count_dayless, export_calendar, export_rows
    from buildlog.answers.ledger import answer_due

    made: list[bytes] = []

    def ask(figures: Figures) -> Answer:
        if as_ics:
            made.append(export_calendar(figures))
            if words := count_dayless(figures):
                click.echo(words, err=True)
        return answer_due(figures)

    show = _choose(
        json=(as_json, None),
        csv=(as_csv, lambda answer: export_rows(answer.data, DUE)),
        ics=(as_ics, lambda _: made[0]),
    )
    _answer(log, as_of, show, anew, verbose, ask)


@click.command("next")
@log_folder
@as_of
@as_json
@from_scratch
@verbose
def next_(log: Path, as_of: datetime.date | None, as_json: bool, anew: bool, verbose: bool) -> None:
    """What is still to do, what is wanted, and what your lists still lack."""
    from buildlog.answers.ledger import answer_next

    _answer(log, as_of, _choose(json=(as_json, None)), anew, verbose, answer_next)


@click.command()
@log_folder
@as_of
@as_json
@from_scratch
@verbose
def faults(log: Path, as_of: datetime.date | None, as_json: bool, anew: bool, verbose: bool) -> None:
    """What is wrong, what it could still be, where to look next, and temporary repairs."""
    from buildlog.answers.work import answer_faults

    _answer(log, as_of, _choose(json=(as_json, None)), anew, verbose, answer_faults)


@click.command()
@click.argument("strip_downs", nargs=-1, metavar="[STRIP-DOWN]...")
@click.option("--log", type=FOLDER, default=".", help="The log's folder.")
@as_of
@as_json
@from_scratch
@verbose
def apart(
    strip_downs: tuple[str, ...], log: Path, as_of: datetime.date | None, as_json: bool, anew: bool, verbose: bool
) -> None:
    """What else to do with these strip-downs off (default: those that are off now)."""
    from buildlog.answers.work import UnknownStripDown, answer_apart

    try:
        show = _choose(json=(as_json, None))
        _answer(log, as_of, show, anew, verbose, lambda figures: answer_apart(figures, strip_downs))
    except UnknownStripDown as unknown:  # what was typed names nothing, and nothing is wrong with the log
        raise click.UsageError(str(unknown)) from None


def _choose(**forms: tuple[bool, Callable[[Answer], bytes] | None]) -> Show:
    """How an answer is written: as the one form that was asked for, else as tables. None stands for JSON."""
    from buildlog.answers.forms import Answer

    asked = [name for name, (wanted, _) in forms.items() if wanted]
    if len(asked) > 1:
        raise click.UsageError(f"choose one of {join_words([f'--{name}' for name in asked])}")
    write = forms[asked[0]][1] if asked else Answer.as_text
    return write or Answer.as_json


def _name_question() -> str:
    """The command with the options that its answer depends on, beside the log and the day; empty: it is not kept."""
    context = click.get_current_context()
    asked = {name: value for name, value in context.params.items() if name not in ("log", "as_of", "anew", "verbose")}
    # What goes into a calendar is told in words as well, which stand in no answer.
    return "" if asked.get("as_ics") else repr((context.command.name, sorted(asked.items())))


@without_collector()
def _answer(
    log: Path, as_of: datetime.date | None, show: Show, anew: bool, verbose: bool, ask: Callable[[Figures], Answer]
) -> None:
    from buildlog.kept.work import keeping_work
    from buildlog.stages import Run

    # soon done, and its answer may already stand in a pager
    with watched(verbose, line=False) as watch, keeping_work(anew) as work:
        figures = figures_or_stop(Run(folder=log, as_of=as_of or today(), work=work, anew=anew, watch=watch))
        question = _name_question()
        told = work.find_answer(question) if work and question else None
        if told is None:
            shown = show(ask(figures))
            told = shown.encode() if isinstance(shown, str) else shown
            if work and question:
                work.keep_answer(question, told)
        click.echo(told, nl=False)
    tell_trouble(work.trouble if work else "")
