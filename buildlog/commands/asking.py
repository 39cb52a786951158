"""Asking a log: costs, parts, what is due, faults, what is within reach; as a table or as JSON."""

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

if TYPE_CHECKING:
    from collections.abc import Callable

    from buildlog.answers.tables import Answer
    from buildlog.compute.figures import Figures

    Ask = Callable[[Figures], Answer]


@click.command()
@log_folder
@as_of
@as_json
@from_scratch
@verbose
def costs(log: Path, as_of: datetime.date | None, as_json: bool, anew: bool, verbose: bool) -> None:
    """What the machine has cost so far, and on what."""
    from buildlog.answers.ledger import answer_costs

    _answer(log, as_of, as_json, anew, verbose, answer_costs)


@click.command()
@log_folder
@click.option("--find", metavar="NUMBER", help="Only the part with this number (superseded ones too) or name.")
@as_of
@as_json
@from_scratch
@verbose
def parts(log: Path, find: str | None, as_of: datetime.date | None, as_json: bool, anew: bool, verbose: bool) -> None:
    """Every part bought or taken off, and where it is now."""
    from buildlog.answers.ledger import answer_parts

    _answer(log, as_of, as_json, anew, verbose, lambda figures: answer_parts(figures, find))


@click.command()
@log_folder
@as_of
@as_json
@from_scratch
@verbose
def due(log: Path, as_of: datetime.date | None, as_json: bool, anew: bool, verbose: bool) -> None:
    """What is overdue, due now, due later or has no history."""
    from buildlog.answers.ledger import answer_due

    _answer(log, as_of, as_json, anew, verbose, answer_due)


@click.command()
@log_folder
@as_of
@as_json
@from_scratch
@verbose
def faults(log: Path, as_of: datetime.date | None, as_json: bool, anew: bool, verbose: bool) -> None:
    """What is wrong, what it could still be, where to look next, and temporary repairs."""
    from buildlog.answers.work import answer_faults

    _answer(log, as_of, as_json, anew, verbose, answer_faults)


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
        _answer(log, as_of, as_json, anew, verbose, lambda figures: answer_apart(figures, strip_downs))
    except UnknownStripDown as unknown:  # what was typed names nothing, and nothing is wrong with the log
        raise click.UsageError(str(unknown)) from None


@without_collector()
def _answer(
    log: Path, as_of: datetime.date | None, as_json: bool, anew: bool, verbose: bool, ask: Callable[[Figures], Answer]
) -> None:
    from buildlog.kept.work import keeping_work
    from buildlog.stages import Run

    # soon done, and its answer may already stand in a pager
    with watched(verbose, line=False) as watch, keeping_work(anew) as work:
        answer = ask(figures_or_stop(Run(folder=log, as_of=as_of or today(), work=work, anew=anew, watch=watch)))
        click.echo(answer.as_json() if as_json else answer.as_text(), nl=False)
    tell_trouble(work.trouble if work else "")
